using System.Diagnostics;
using System.Text.Json;
using Hourhinge.Rig;
using Hourhinge.Tests.Host.Calibration;

namespace Hourhinge.Tests.Host.App.Calibrate;

/// <summary>The program as a maker meets it: the worked data, exit codes, writing, and what stays untouched.</summary>
public sealed class CalibrateCommandTests : IDisposable
{
    private readonly string _folder = Directory.CreateTempSubdirectory("calibrate-").FullName;

    public void Dispose() => Directory.Delete(_folder, true);

    [Fact]
    public void A_label_gearbox_is_put_right_in_the_file_and_comments_stay()
    {
        string rig = Copy("bent-m6-geared",
            ("gearbox = [[32, 9], [22, 11], [26, 9], [31, 10]]", "gearbox = [[64, 1]]  # from the label"));
        string[] args = ["calibrate", "turns", rig, "--data", Data("dipper-turns"), "--steps-per-sec", "150", "--json"];
        byte[] before = File.ReadAllBytes(rig);
        JsonElement plain = Json(0, args);
        Assert.Equal("exact_teeth", plain.GetProperty("cause").GetString());
        Assert.False(plain.GetProperty("rig_file_written").GetBoolean());
        JsonElement dry = Json(0, [.. args, "--write", "--dry-run"]);
        Assert.Equal("motor.gearbox", dry.GetProperty("rig_file_changes")[0].GetProperty("key").GetString());
        Assert.Equal(before, File.ReadAllBytes(rig));

        Assert.True(Json(0, [.. args, "--write"]).GetProperty("rig_file_written").GetBoolean());
        string text = File.ReadAllText(rig);
        Assert.Contains(
            "gearbox = [[32, 9], [22, 11], [26, 9], [31, 10]]  # from the label  # exact by turns calibration ", text,
            StringComparison.Ordinal);
        Assert.Contains("# Sold as 64:1; the wheels inside say 63.684:1.\n", text, StringComparison.Ordinal);
        Assert.Equal("turns", RigReader.Read("x", text).Calibration!.Method);
        Assert.Equal("file_stands", Json(0, args).GetProperty("cause").GetString());
    }

    [Fact]
    public void Rod_readings_change_the_arms_and_a_second_method_joins_the_first()
    {
        string rig = Copy("straight-quarter-twenty");
        JsonElement rod = Json(0, "calibrate", "rod", rig, "--data", Data("heron-rod"), "--json", "--write");
        double arm = rod.GetProperty("nut_arm_mm").GetDouble();
        double sigma = rod.GetProperty("parameters")[0].GetProperty("sigma_mm").GetDouble();
        Assert.InRange(arm, 291.6 - (3 * sigma), 291.6 + (3 * sigma)); // Built with 291.6 (the demo's invention).
        Assert.Contains("arm difference", rod.GetProperty("not_told_by_the_readings")[0].GetString(),
            StringComparison.Ordinal);
        // Readings at a rate of one's own do not depend on the rig file; readings of the moving profile are of another
        // drive now.
        (int code, _, string error) = Tool.Run("calibrate", "turns", rig, "--data", Aged("heron-turns"), "--write");
        Assert.Equal(2, code);
        Assert.Contains("and the rod calibration of ", error, StringComparison.Ordinal);
        Assert.Contains("they measured another drive", error, StringComparison.Ordinal);
        string fresh = Path.Combine(_folder, "fresh.csv");
        File.WriteAllText(fresh, File.ReadAllText(Data("heron-turns")));
        Json(0, "calibrate", "turns", rig, "--data", fresh, "--json", "--write");
        (code, _, error) = Tool.Run("calibrate", "turns", rig, "--data", fresh, "--write");
        Assert.Equal(2, code);
        Assert.Contains("contains the correction from these readings already", error, StringComparison.Ordinal);
        RigDescription after = RigReader.Read("x", File.ReadAllText(rig));
        Assert.Equal("rod, turns", after.Calibration!.Method);
        Assert.NotNull(after.Calibration.ArmUncertaintyMm);
    }

    /// <summary>
    /// A crystal slow by 150 ppm: the turns come late. The trim adds to the controller's seconds (true seconds =
    /// crystal seconds × (1 + trim)), so it is +150 ppm; a fast crystal gets -150 ppm.
    /// </summary>
    [Theory]
    [InlineData(1.00015, 150)]
    [InlineData(0.99985, -150)]
    public void A_late_count_gets_a_trim_that_makes_the_clock_faster(double late, double trimPpm)
    {
        string rig = Copy("straight-quarter-twenty");
        string data = Path.Combine(_folder, "turns.csv");
        File.WriteAllLines(data, Synthetic.Turns(9600 * late, 160, 120, 0.1, new Random(5))
            .Select(r => $"{r.Minutes:R},{r.NutTurns:R}").Prepend("minutes,nut_turns"));
        JsonElement found = Json(0, "calibrate", "turns", rig, "--data", data, "--steps-per-sec", "160",
            "--stopwatch-error-s", "0.1", "--json", "--write");
        Assert.Equal("clock", found.GetProperty("cause").GetString());
        Assert.InRange(found.GetProperty("clock_trim_ppm").GetDouble(), trimPpm - 25, trimPpm + 25);
        Assert.InRange(RigReader.Read("x", File.ReadAllText(rig)).ClockTrimPpm, trimPpm - 25, trimPpm + 25);
    }

    [Fact]
    public void What_is_not_trusted_exits_with_1_and_is_not_written()
    {
        string rig = Copy("straight-quarter-twenty");
        byte[] before = File.ReadAllBytes(rig);
        string few = Path.Combine(_folder, "few.csv");
        File.WriteAllText(few, "minutes,nut_turns\n1,1\n2,2\n3.001,3\n");
        (int code, string output, string error) = Tool.Run("calibrate", "turns", rig, "--data", few, "--write");
        Assert.Equal(1, code);
        Assert.Contains("DO NOT TRUST THIS", output, StringComparison.Ordinal);
        Assert.Contains("Too few readings: 3 can be used", output, StringComparison.Ordinal);
        Assert.Contains("left as it is", error, StringComparison.Ordinal);
        Assert.Equal(before, File.ReadAllBytes(rig));
    }

    [Fact]
    public void Bad_input_exits_with_2_in_one_sentence_and_changes_nothing()
    {
        string rig = Copy("straight-quarter-twenty");
        byte[] before = File.ReadAllBytes(rig);
        string bad = Path.Combine(_folder, "bad.csv");
        File.WriteAllText(bad, "minutes,nut_turns\n1,1\n2,x\n");
        Refused($"hourhinge: {bad}:3: column 2, nut_turns = x: must be a number, -1000 to 100000 turns.\n", "calibrate",
            "turns", rig, "--data", bad, "--write");
        Refused("hourhinge: --data nowhere.csv: cannot read the measurements: there is no such file\n", "calibrate",
            "rod", rig, "--data", "nowhere.csv");
        File.WriteAllText(bad, "minutes,nut_turns\n1,1\n2,2\n300,3\n");
        Refused(
            "hourhinge: Line 4: minutes = 300: this rig follows the sky for 103.7 minutes; must be 0 to 103.7, or "
            + "give the rate that was driven as --steps-per-sec.\n", "calibrate", "turns", rig, "--data", bad);
        Refused(
            "hourhinge: --stopwatch-error-s -1: must be above 0, up to 60 s. See: hourhinge calibrate turns --help\n",
            "calibrate", "turns", rig, "--stopwatch-error-s", "-1");
        Assert.Equal(before, File.ReadAllBytes(rig));
    }

    [Fact]
    public void A_motor_table_is_known_by_its_columns()
    {
        JsonElement curve =
            Json(0, "calibrate", "turns", Tool.Example("fixed-rod-offset"), "--data", Data("motor-speed"), "--json");
        Assert.InRange(curve.GetProperty("turns_per_min_per_v").GetDouble(), 2.3, 2.4);
        Assert.Equal(11, curve.GetProperty("curve_duty_percent").GetArrayLength());
    }

    [Fact]
    public void Typed_readings_are_worked_out_and_kept()
    {
        string kept = Path.Combine(_folder, "kept.csv");
        string[] pairs = File.ReadAllLines(Data("heron-turns"))[2..];
        (int code, string output) = Typed(string.Join('\n', pairs) + "\n\n", "calibrate", "turns",
            Tool.Example("straight-quarter-twenty"), "--save", kept, "--json");
        Assert.Equal(0, code);
        Assert.Equal(15, JsonDocument.Parse(output).RootElement.GetProperty("readings").GetInt32());
        Assert.Equal(["minutes,nut_turns", .. pairs], File.ReadAllLines(kept)[1..]);
    }

    [Fact]
    public void The_stopwatch_counts_presses_and_skips()
    {
        string kept = Path.Combine(_folder, "presses.csv");
        // Presses at once are no measurement; what is checked is the counting, and that the result is refused.
        (int code, _) = Typed("\n\n\ns\n\n\nq\n", "calibrate", "turns", Tool.Example("straight-quarter-twenty"),
            "--stopwatch", "--every", "2", "--save", kept);
        Assert.InRange(code, 1, 2);
        Assert.Equal(["2", "4", "8", "10"], File.ReadAllLines(kept)[2..].Select(l => l.Split(',')[1]));
    }

    [Fact]
    public void A_wrong_line_is_asked_again_and_every_reading_is_on_disk()
    {
        string kept = Path.Combine(_folder, "lines.csv");
        string rig = Tool.Example("straight-quarter-twenty");
        (int code, _) = Typed("1.01, 1\ntwo, 2\n2,02, 2\n2,02; 2\n1.5, 3\n3.01, 3\n\n", "calibrate", "turns", rig,
            "--save", kept);
        Assert.InRange(code, 0, 1);
        string[] rows = ["minutes,nut_turns", "1.01, 1", "2.02, 2", "3.01, 3"];
        Assert.Equal(rows, File.ReadAllLines(kept)[1..]);
        Typed("3,5 3\n4.02 4\nq\n", "calibrate", "turns", rig, "--save", kept);
        Assert.Equal([.. rows, "4.02, 4"], File.ReadAllLines(kept)[1..]);
    }

    [Fact]
    public void A_measured_speed_table_goes_into_the_rig_and_is_rehearsed()
    {
        string rig = Copy("bent-m6-dc-encoder", ("kind = \"dc-encoder\"", "kind = \"dc\""),
            ("counts_per_turn = 12 ", "# "), ("home = true", "home = false"));
        string data = Path.Combine(_folder, "speed.csv");
        // A motor with 0.8 V of dead band and 3.4 turns a minute for a volt, which breaks loose at 1.1 V.
        double[] duties = [5, 10, 15, 20, 22, 26, 30, 40, 60, 80, 100];
        File.WriteAllLines(data, duties.Select(d => (Duty: d, Volts: d / 100 * 5.0))
            .Select(p => $"{p.Duty},5.0,{(p.Volts < 1.1 ? 0 : (p.Volts - 0.8) * 3.4):F3}")
            .Append("18,5.0,0.34").Prepend("duty_percent,supply_v,turns_per_min"));
        byte[] before = File.ReadAllBytes(rig);
        (int code, string text, _) = Tool.Run("calibrate", "turns", rig, "--data", data, "--dry-run");
        Assert.Equal(0, code);
        Assert.Contains("\nspeed_curve = [[18.00, 0.3400], [22.00, 1.0200], ", text, StringComparison.Ordinal);
        Assert.Equal(before, File.ReadAllBytes(rig));
        Json(0, "calibrate", "turns", rig, "--data", data, "--json", "--write");
        DcData dc = RigReader.Read("x", File.ReadAllText(rig)).Motor.Dc!;
        Assert.Equal((5.0, 22.0, 8), (dc.CurveVolts, dc.BreakAwayPercent, dc.Curve.Count));
        JsonElement run = Json(1, "rehearse", rig, "--minutes", "10", "--load-swing", "0", "--sag", "12", "--tolerance",
            "0.001", "--pack-mah", "2000", "--current-ma", "80", "--json");
        Assert.InRange(run.GetProperty("rate_error_percent").GetDouble(), -0.2, 0.2);
        Assert.Equal(20, run.GetProperty("pack_hours").GetDouble());
        Assert.Equal(4.4, run.GetProperty("supply_end_v").GetDouble(), 0.05);
    }

    [Fact]
    public void Ten_equal_rod_readings_are_no_calibration()
    {
        string data = Path.Combine(_folder, "equal.csv");
        File.WriteAllText(data,
            "rod_mm,angle_deg\n" + string.Concat(Enumerable.Repeat("50,9.9\n", 10)));
        JsonElement r = Json(1, "calibrate", "rod", Tool.Example("straight-quarter-twenty"), "--data", data, "--json");
        Assert.Contains("no better than a ruler", r.GetProperty("reasons_not_to_trust")[0].GetString(),
            StringComparison.Ordinal);
    }

    [Fact]
    public void Night_output_says_the_same_words()
    {
        (int code, string output, _) =
            Tool.Run("calibrate", "rod", Tool.Example("fixed-rod-offset"), "--data", Data("wagtail-rod"), "--night");
        Assert.Equal(0, code);
        Assert.Contains("hinge radius", output, StringComparison.Ordinal);
        Assert.Contains("is unchanged", output, StringComparison.Ordinal);
    }

    private static string Data(string name) => Path.Combine(Tool.Root, "host", "examples", "data", name + ".csv");

    // The readings as of a day before the test.
    private string Aged(string name)
    {
        string file = Path.Combine(_folder, $"aged-{name}.csv");
        File.Copy(Data(name), file, overwrite: true);
        File.SetLastWriteTimeUtc(file, DateTime.UtcNow.AddDays(-1));
        return file;
    }

    private string Copy(string example, params (string Old, string New)[] changes)
    {
        string file = Path.Combine(_folder, "rig.toml");
        File.WriteAllText(file, Synthetic.Text(example, changes));
        return file;
    }

    private static JsonElement Json(int code, params string[] args)
    {
        (int found, string output, string error) = Tool.Run(args);
        Assert.True(found == code, $"exit {found}: {error}{output}");
        return JsonDocument.Parse(output).RootElement;
    }

    private static void Refused(string sentence, params string[] args)
    {
        (int code, string output, string error) = Tool.Run(args);
        Assert.Equal((2, "", sentence), (code, output, error));
    }

    private static (int Code, string Out) Typed(string input, params string[] args)
    {
        var start = new ProcessStartInfo("dotnet")
        {
            RedirectStandardInput = true,
            RedirectStandardOutput = true,
            RedirectStandardError = true,
            WorkingDirectory = Tool.Root
        };
        foreach (string arg in args.Prepend(Path.Combine(AppContext.BaseDirectory, "hourhinge.dll")))
        {
            start.ArgumentList.Add(arg);
        }

        using Process process = Process.Start(start)!;
        Task<string> error = process.StandardError.ReadToEndAsync();
        process.StandardInput.Write(input);
        process.StandardInput.Close();
        string output = process.StandardOutput.ReadToEnd();
        process.WaitForExit();
        error.Wait();
        return (process.ExitCode, output);
    }

    [Theory]
    [InlineData("turns", "straight-quarter-twenty", "heron-turns.csv")]
    [InlineData("rod", "straight-quarter-twenty", "heron-rod.csv")]
    [InlineData("rod", "fixed-rod-offset", "wagtail-rod.csv")]
    public void The_page_shows_the_assessment_the_readings_with_their_fit_and_what_to_do_next(
        string method, string rig, string data)
    {
        string page = Path.Combine(Path.GetTempPath(), $"hourhinge-{Guid.NewGuid():N}.html");
        try
        {
            (int code, _, string error) = Tool.Run("calibrate", method, Tool.Example(rig), "--data",
                Path.Combine(Tool.Root, "host", "examples", "data", data), "--html", page);
            Assert.True(code < 2, error);
            string html = File.ReadAllText(page);
            foreach (string part in new[] { "What to do next", "Readings and fit", "Residuals", "The readings",
                "<svg" })
            {
                Assert.Contains(part, html, StringComparison.Ordinal);
            }

            // No raw key as a label, and a value for the zero of the readings.
            Assert.DoesNotMatch(@"<t[hd][^>]*>[a-z0-9]+_[a-z0-9_]+<", html);
            if (rig == "fixed-rod-offset")
            {
                Assert.Matches(@"reading zero</th><td[^>]*>[−\d.]+</td><td[^>]*>([−\d.]+|held)<", html);
            }
        }
        finally
        {
            File.Delete(page);
        }
    }
}
