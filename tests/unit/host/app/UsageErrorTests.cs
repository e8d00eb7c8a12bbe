namespace Hourhinge.Tests.Host.App;

/// <summary>What is typed wrongly is answered in one sentence that says what to type, exit code 2.</summary>
public class UsageErrorTests
{
    private static readonly string _rig = Tool.Example("straight-quarter-twenty");

    [Theory]
    [InlineData("budget RIG --exposure abc", "--exposure abc: must be a number, 0.1 to 7200 s")]
    [InlineData("budget RIG --exposure 1,5",
        "--exposure 1,5: write decimals with a point, not a comma (such as 1.5), 0.1")]
    [InlineData("night --target M31 --site 47,12 --utc-offset 5,5", "--utc-offset 5,5: write decimals with a point")]
    [InlineData("night --target M31 --site 47,12 --altitude thirty",
        "--altitude thirty: must be a number, 0 to 89 deg")]
    [InlineData("rehearse RIG --radius-error abc", "--radius-error abc: must be a number")]
    [InlineData("budget RIG --exposure 30x",
        "--exposure 30x: must be a number (its unit may be s, ms, us, min, h), 0.1 to 7200 s")]
    [InlineData("budget RIG --exposure 3h", "--exposure 3h: must be 0.1 to 7200 s")]
    [InlineData("rehearse RIG --tolerance -1", "--tolerance -1: must be 0.001 to 100000 arcsec")]
    [InlineData("rehearse RIG --frames new --count 1.5", "--count 1.5: must be a whole number")]
    [InlineData("rehearse RIG --axis-altitude 5", "--axis-altitude has no effect without --frames")]
    [InlineData("rehearse --serve --plot x.png", "--plot has no effect with --serve")]
    [InlineData("night --target M31 --site 47,12 --year --gap 9", "--gap has no effect with --year")]
    [InlineData("calibrate turns RIG --data x.csv --every 2", "--every has no effect")]
    [InlineData("profile --foo x.toml", "'--foo' is not known here")]
    [InlineData("profil x.toml", "'profil' is not known here; did you mean profile?")]
    [InlineData("nigth --site 47,12", "'nigth' is not known here; did you mean night?")]
    [InlineData("budget RIG \u2014exposure 60", "'\u2014exposure' is not known here; did you mean --exposure?")]
    [InlineData("budget \u2013-lens 60 RIG", "'\u2013-lens' is not known here; did you mean --lens?")]
    [InlineData("profile RIG --jsn", "'--jsn' is not known here; did you mean --json?")]
    [InlineData("profile RIG --plot --jsn", "'--jsn' is not known here; did you mean --json?")]
    [InlineData("device strat --to COM3", "'strat' is not known here")]
    [InlineData("budget RIG --sag 5", "--sag: no effect on this rig: a stepper keeps time whatever the voltage")]
    [InlineData("budget RIG --arm-error 1 --rate-error 9", "--arm-error has no effect with --rate-error")]
    [InlineData("night --pole --site 47,12 --pack-mah 9000 --current-ma 90", "--pack-mah has no effect with --pole")]
    [InlineData("rehearse RIG --pack-mah 9000", "--pack-mah and --current-ma: the pack's hours need both, or a rig")]
    [InlineData("night --target Pleiads --site 47,12",
        "give a catalogue number (M31, NGC 7000), a name (Veil Nebula, Vega), or RA,DEC in degrees")]
    [InlineData("rig", "name one of new, check")]
    [InlineData("rig check host", "host: cannot read the rig file: it is a folder, not a file.")]
    [InlineData("rig check nowhere.toml", "there is no such file")]
    [InlineData("rig new ", "FILE '': must be a file's name")]
    [InlineData("rig new x.toml --form Bent-rod", "--form 'Bent-rod': must be straight-rod, bent-rod, fixed-rod, ")]
    [InlineData("device jog -- -2mm --to COM3", "'--to' stands behind --, where no option is recognised")]
    [InlineData("device edit hinge.nut_arm_mm = 246 --to COM3", "as one word, hinge.nut_arm_mm=VALUE, or in quotes")]
    public void One_sentence_says_what_to_type(string line, string expected)
    {
        string[] args = [.. line.Split(' ').Select(w => w == "RIG" ? _rig
            : w == "host" ? Path.Combine(Tool.Root, "host") : w)];
        (int code, string output, string error) = Tool.Run(args);
        Assert.Equal(2, code);
        Assert.Empty(output);
        Assert.Contains(expected, error, StringComparison.Ordinal);
        Assert.Equal(1, error.Count(c => c == '\n'));
    }

    [Fact]
    public void Units_are_accepted_where_they_are_the_options_own()
    {
        string[] plain = ["budget", _rig, "--exposure", "90", "--lens", "210", "--f-number", "4", "--dec", "-5.5"];
        // The minus sign of a web page and the prime of an angle, too.
        string[] units =
            ["budget", _rig, "--exposure", "1.5min", "--lens=21cm", "--f-number", "f/4", "--dec", "\u2212330\u2032"];
        (int code, string output, string error) = Tool.Run(plain);
        Assert.True(code < 2, error);
        Assert.Equal((code, output), Tool.Run(units) is var r ? (r.Code, r.Out) : default);
    }

    [Theory]
    [InlineData("lenses_mm", "[85,5, 50]", "camera.lenses_mm = [85,5, 50]: 85,5 may be one number or two: write")]
    [InlineData("pairs", "[[52,5, 17]]", "52,5 may be one number or two")]
    [InlineData("microsteps", "256", "motor.pull_in_steps_per_sec = 800: this drive needs")]
    public void A_value_that_may_mean_two_things_or_does_not_fit_names_file_and_key(
        string key, string value, string expected)
    {
        string file = Path.Combine(Path.GetTempPath(), $"typed-{Guid.NewGuid():N}.toml");
        try
        {
            File.WriteAllLines(file, File.ReadLines(_rig).Select(l =>
                l.StartsWith(key + " =", StringComparison.Ordinal) ? $"{key} = {value}" : l));
            (int code, _, string error) = Tool.Run("rig", "check", file);
            Assert.Equal(2, code);
            Assert.Contains(expected, error, StringComparison.Ordinal);
            Assert.StartsWith($"hourhinge: {file}:", error, StringComparison.Ordinal);
        }
        finally
        {
            File.Delete(file);
        }
    }

    [Theory]
    [InlineData("290,5", "290,5: write decimals with a point, not a comma")]
    [InlineData("\"290,5\"", "write decimals with a point, not a comma")]
    [InlineData("\"twelve\"", "hinge.nut_arm_mm = \"twelve\": must be a number, 20 to 2000 mm")]
    [InlineData("nan", "hinge.nut_arm_mm = nan: must be 20 to 2000 mm")]
    [InlineData("290.3mm", "290.3mm: a number with a unit stands in quotes: \"290.3mm\".")]
    [InlineData("9 1/16 in", "9 1/16 in: a number with a unit stands in quotes: \"9 1/16 in\".")]
    [InlineData("\u2212290", "\u2212 is a typographic minus sign or dash; write the plain -.")]
    [InlineData("\u201C9 in\u201D", "\u201C is a typographic quote; write the plain \".")]
    [InlineData("\u00A0290", "a special space (U+00A0) stands here")]
    [InlineData("[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[1]]", "not TOML")]
    public void A_rig_file_says_what_to_write(string value, string expected)
    {
        string file = Path.Combine(Path.GetTempPath(), $"typed-{Guid.NewGuid():N}.toml");
        string text = File.ReadAllText(_rig);
        int at = text.IndexOf("nut_arm_mm = ", StringComparison.Ordinal) + "nut_arm_mm = ".Length;
        int end = text.IndexOf(' ', at);
        text = text[..at] + value + text[end..];
        try
        {
            File.WriteAllText(file, text);
            (int code, _, string error) = Tool.Run("rig", "check", file);
            Assert.Equal(2, code);
            Assert.Contains(expected, error, StringComparison.Ordinal);
            Assert.DoesNotContain('\u001b', error);
        }
        finally
        {
            File.Delete(file);
        }
    }

    [Fact]
    public void Control_characters_in_a_text_are_refused_and_shown()
    {
        string file = Path.Combine(Path.GetTempPath(), $"typed-{Guid.NewGuid():N}.toml");
        try
        {
            File.WriteAllText(file, File.ReadAllText(_rig).Replace("Quarry meadow", @"Quarry\nmeadow\u001b[2J",
                StringComparison.Ordinal));
            (int code, _, string error) = Tool.Run("rig", "check", file);
            Assert.Equal(2, code);
            Assert.Contains("must be one line of at most 200 characters", error, StringComparison.Ordinal);
            Assert.DoesNotContain('\u001b', error);
        }
        finally
        {
            File.Delete(file);
        }
    }

    [Fact]
    public void Lengths_in_inches_are_the_same_rig()
    {
        string file = Path.Combine(Path.GetTempPath(), $"inches-{Guid.NewGuid():N}.toml");
        try
        {
            string text = File.ReadAllText(Tool.Example("bent-m6-geared"));
            File.WriteAllText(file, text.Replace("= 246.0", "= \"9 11/16 in\"", StringComparison.Ordinal));
            string inches = Tool.Run("profile", file, "--json").Out;
            // The international inch is 25.4 mm exactly: 9 11/16 in = 246.0625 mm.
            File.WriteAllText(file, text.Replace("= 246.0", "= 246.0625", StringComparison.Ordinal));
            Assert.NotEmpty(inches);
            Assert.Equal(Field(Tool.Run("profile", file, "--json").Out), Field(inches));
        }
        finally
        {
            File.Delete(file);
        }
    }

    private static double Field(string json)
    {
        using var document = System.Text.Json.JsonDocument.Parse(json);
        return document.RootElement.GetProperty("travel_min").GetDouble();
    }

    [Theory]
    [InlineData("5.02,5", "minutes,nut_turns")]
    [InlineData("\"5.02\",\"x\"", "column 2, nut_turns = x: must be a number")]
    [InlineData("5,02,5", "write decimals with a point, or put semicolons between columns")]
    [InlineData("five,5", "column 1, minutes = five: must be a number")]
    [InlineData("\u001b[2J,5", @"\x1B[2J")]
    public void A_csv_file_says_what_to_write(string row, string expected)
    {
        string file = Path.Combine(Path.GetTempPath(), $"typed-{Guid.NewGuid():N}.csv");
        try
        {
            File.WriteAllText(file, "minutes,nut_turns\n" + row + "\n");
            (int code, _, string error) = Tool.Run("calibrate", "turns", _rig, "--data", file);
            Assert.True(code is 1 or 2, error);
            Assert.True(expected == "minutes,nut_turns" || error.Contains(expected, StringComparison.Ordinal), error);
            Assert.DoesNotContain('\u001b', error);
        }
        finally
        {
            File.Delete(file);
        }
    }
}
