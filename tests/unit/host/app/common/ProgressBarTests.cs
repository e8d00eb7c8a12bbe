using System.Text.RegularExpressions;
using Hourhinge.App.Common;
using Spectre.Console;

namespace Hourhinge.Tests.Host.App.Common;

/// <summary>The bar of long jobs, drawn on a terminal of the test's own.</summary>
public sealed partial class ProgressBarTests
{
    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public void By_night_the_bar_is_dim_red_alone(bool night)
    {
        using var drawn = new StringWriter();
        IAnsiConsole console = AnsiConsole.Create(new AnsiConsoleSettings
        {
            Ansi = AnsiSupport.Yes,
            ColorSystem = ColorSystemSupport.TrueColor,
            Interactive = InteractionSupport.Yes,
            Out = new AnsiConsoleOutput(drawn),
        });
        int result = ProgressBar.Run(console, "measuring [1]", 10, night, show =>
        {
            for (int i = 0; i <= 10; i++)
            {
                show(i);
                Thread.Sleep(30);
            }

            return 7;
        });

        Assert.Equal(7, result);
        string[] colours = [.. Colour().Matches(drawn.ToString()).Select(m => m.Value)];
        Assert.NotEmpty(colours);
        Assert.Equal(night, colours.All(c => Red().IsMatch(c)));
    }

    [Fact]
    public void An_exception_of_the_job_passes_through() => Assert.Throws<InputException>(() =>
        ProgressBar.Run<int>("x", 1, true, _ => throw new InputException("y")));

    // Foreground or background, by the 256 colours, the 16 or true colour.
    [GeneratedRegex(@"(?<=[\[;])(38;2;\d+;\d+;\d+|48;2;\d+;\d+;\d+|38;5;\d+|48;5;\d+|3[0-7]|9[0-7]|4[0-7])(?=[;m])")]
    private static partial Regex Colour();

    // Red up to AA, no green, no blue; black.
    [GeneratedRegex("^([34]8;2;(0|70|170);0;0|4?0|40|[34]8;5;(0|16|52|88|124|1))$")]
    private static partial Regex Red();
}
