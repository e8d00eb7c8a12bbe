using System.Diagnostics;
using Hourhinge.App.Common;
using Hourhinge.App.Rig;
using Hourhinge.Rig;
using Hourhinge.Tests.Support;

namespace Hourhinge.Tests.Host.App.Rig;

/// <summary>`rig new`: the questions on a terminal, and the templates without one.</summary>
public sealed class RigNewTests : IDisposable
{
    private static readonly string[] _stepper = ["60:20", "200", "16", "", "800", "yes", ""];
    private static readonly string[] _encoder =
        ["52:17", "12", "100:1", "", "5.2", "14 0.3, 50 7, 100 17", "4.2", "", ""];
    private static readonly string[] _openLoop = ["52:17", "100:1", "no", "5.2", "", "4.2", "", ""];
    private readonly string _folder = Directory.CreateTempSubdirectory("hourhinge-new-").FullName;

    public void Dispose() => Directory.Delete(_folder, true);

    public static TheoryData<string, string> Kinds()
    {
        var kinds = new TheoryData<string, string>();
        foreach (string form in RigTemplate.Forms)
        {
            foreach (string drive in RigTemplate.Drives)
            {
                kinds.Add(form, drive);
            }
        }

        return kinds;
    }

    [Theory]
    [MemberData(nameof(Kinds))]
    public void Without_a_terminal_a_template_of_each_kind_is_sound(string form, string drive)
    {
        string rig = Path.Combine(_folder, "rig.toml");
        (int code, string output, string error) = Tool.Run("rig", "new", rig, "--form", form, "--drive", drive);
        Assert.True(code == 0 && output.Length == 0, error);
        Assert.Equal(0, Tool.Run("rig", "check", rig).Code);
        string text = File.ReadAllText(rig);
        Assert.Contains($"form = \"{form}\"", text, StringComparison.Ordinal);
        Assert.Contains($"kind = \"{drive}\"", text, StringComparison.Ordinal);
        Assert.Equal(drive != "stepper", text.Contains("\nspeed_curve = [[", StringComparison.Ordinal));
    }

    [Theory]
    [MemberData(nameof(Kinds))]
    public void The_questions_make_a_sound_rig_of_each_kind(string form, string drive)
    {
        (RigDescription rig, string text, _) = Interview(Answers(form, drive, "mm"));
        Assert.Equal("Magpie", rig.Name);
        Assert.Equal(drive == "stepper" ? null : drive == "dc-encoder", rig.Motor.Dc?.HasEncoder);
        Assert.Equal("Europe/Madrid", rig.Site!.TimeZone);
        Assert.Equal([50, 24], rig.Camera!.LensesMm);
        // 10 Ah at 3.7 V are 37 Wh; four fifths of them at 5 V and 0.25 A last 23.68 h.
        Assert.Equal(23.68, rig.Pack!.Hours, 1e-9);
        Assert.DoesNotContain("Put in", text, StringComparison.Ordinal);
    }

    [Fact]
    public void What_was_typed_in_inches_stays()
    {
        string[] answers = [.. Answers("bent-rod", "stepper", "in").Select(a => a switch
        {
            "290" => "9 1/16",
            "20" => "0.75",
            "150" => "5 1/2\"",
            _ => a,
        })];
        (RigDescription rig, string text, _) = Interview(answers);
        Assert.Contains("nut_arm_mm = \"9 1/16 in\"", text, StringComparison.Ordinal);
        Assert.Contains("shortest_mm = \"0.75 in\"", text, StringComparison.Ordinal);
        Assert.Contains("longest_mm = '5 1/2\"'", text, StringComparison.Ordinal);
        Assert.Equal(139.7, rig.Rod.LongestMm);
    }

    [Fact]
    public void A_wrong_answer_is_asked_again_with_its_range()
    {
        List<string> answers = [.. Answers("fixed-rod", "stepper", "mm")];
        int radius = answers.IndexOf("290");
        answers.InsertRange(radius, ["", "290,5", "5", "7 ells"]);
        int thread = answers.IndexOf("M6");
        answers.Insert(thread, "M7.3");
        int zone = answers.IndexOf("Europe/Madrid");
        answers.Insert(zone, "Madrid");
        (_, _, string asked) = Interview([.. answers]);
        foreach (string words in new[] { "This one has no usual value.", "'290,5': write decimals with a point",
            "That is 5 mm; it must be", "'7 ells': must be a number", "No such thread", "perhaps \"Europe/Madrid\"" })
        {
            Assert.Contains(words, asked, StringComparison.Ordinal);
        }
    }

    [Fact]
    public void Answers_that_do_not_fit_together_are_asked_again()
    {
        List<string> answers = [.. Answers("straight-rod", "stepper", "mm")];
        answers[answers.IndexOf("150")] = "900";
        (RigDescription rig, _, string asked) = Interview([.. answers, "140"]);
        Assert.Equal(140, rig.Rod.LongestMm);
        Assert.Contains("These answers do not fit together", asked, StringComparison.Ordinal);
    }

    [Fact]
    public void An_end_of_input_is_an_error_in_one_sentence() =>
        Assert.Contains("nothing was written", Assert.Throws<InputException>(() => Interview(["1", "1"])).Message,
            StringComparison.Ordinal);

    /// <summary>Through a pseudo-terminal of 80 columns: the real program asks and writes.</summary>
    [SkippableFact]
    public void On_a_terminal_the_program_asks_within_80_columns()
    {
        Skip.IfNot(OperatingSystem.IsLinux(), "the pseudo-terminal of the test needs Linux");
        string? python = PythonInterpreter.With("pty");
        Skip.If(python == null, "no python3 found");
        string answers = Path.Combine(_folder, "answers.txt");
        File.WriteAllLines(answers, Answers("bent-rod", "dc", "mm"));
        string rig = Path.Combine(_folder, "asked.toml");
        var start = new ProcessStartInfo(python!, [RepositoryFile.Path("tests/unit/host/app/rig/terminal.py"),
            answers, "dotnet", Path.Combine(AppContext.BaseDirectory, "hourhinge.dll"), "rig", "new", rig])
        { RedirectStandardOutput = true };
        using Process process = Process.Start(start)!;
        string screen = process.StandardOutput.ReadToEnd();
        process.WaitForExit();
        Assert.True(process.ExitCode == 0, screen);
        Assert.Contains("The rig is sound", screen, StringComparison.Ordinal);
        Assert.All(screen.Split('\n').Where(l => !l.Contains(_folder, StringComparison.Ordinal)),
            l => Assert.True(l.TrimEnd().Length <= 80, l));
        Assert.Equal(0, Tool.Run("rig", "check", rig).Code);
    }

    [Fact]
    public void An_existing_file_is_left_before_any_question()
    {
        string rig = Path.Combine(_folder, "mine.toml");
        File.WriteAllText(rig, "mine");
        (int code, _, string error) = Tool.Run("rig", "new", rig);
        Assert.Equal(2, code);
        Assert.Contains("exists already", error, StringComparison.Ordinal);
        Assert.Equal("mine", File.ReadAllText(rig));
    }

    private static string[] Answers(string form, string drive, string unit) =>
    [
        form, drive, unit, "Magpie", "",
        .. form switch { "straight-rod" => ["290", "290"], "bent-rod" => ["290", "290", "290"],
            "drive-tip-straight" or "camera-tip-straight" => ["290", "290", "200", "-100", "0", "4"],
            "drive-tip-fixed" or "camera-tip-fixed" => ["290", "4", "3", "200", "-100", "-2", "4"],
            _ => (string[])["290", "4", "3"] },
        "M6", "20", "150",
        .. drive == "stepper" ? _stepper : drive == "dc" ? _openLoop : _encoder,
        "yes", "4.0", "6000", "4000", "50, 24",
        "y", "Hill", "42.8", "-3.1", "", "Europe/Madrid",
        "y", "", "10000", "3.7", "250",
    ];

    private static (RigDescription Rig, string Text, string Asked) Interview(string[] answers)
    {
        var asked = new StringWriter();
        string text = new RigInterview(new StringReader(string.Join('\n', answers)), asked).Ask("new.toml");
        Assert.All(asked.ToString().Split('\n'), l => Assert.True(l.Length <= 80 || l.Contains(": ",
            StringComparison.Ordinal), l));
        return (RigReader.Read("new.toml", text), text, asked.ToString());
    }
}
