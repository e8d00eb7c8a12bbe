using Hourhinge.App.Design;
using Hourhinge.Planning.Parts;

namespace Hourhinge.Tests.Host.App.Design;

/// <summary>The questions of `hourhinge design`.</summary>
public class DesignInterviewTests
{
    [Fact]
    public void The_answers_make_a_box()
    {
        string[] answers =
        [
            "mm", "Whinchat", "60", "", "", "4.3", "", "", "135", "1.2", "80", "400", "yes",
            "M9.9", "M6", "300", "yes", "", "no", "60 20 48 16",
            "", "stepper", "", "", "1 2 4", "", "260", "210", "yes",
            "worm", "dc", "100:1", "5", "6", "300", "10", "450", "no",
            "5", "10000", "3.7", "",
        ];
        var asked = new StringWriter();
        string text = new DesignInterview(new StringReader(string.Join('\n', answers) + "\n"), asked).Ask("box.toml");
        PartsBox box = PartsReader.Read("box.toml", text);
        Assert.Equal("Whinchat", box.Name);
        Assert.True(box.HasThirdBoard);
        Assert.Equal([60, 20, 48, 16], box.Wheels);
        Assert.Equal(["stepper", "dc"], box.Motors.Select(m => m.Kind));
        Assert.Equal(3.7, box.Pack.LabelVolts);
        Assert.True(box.Rods[0].IsBendable);
        Assert.Contains("No such thread", asked.ToString(), StringComparison.Ordinal);
    }
}
