using System.Text.Json;
using Hourhinge.Tests.Host.Rehearsal;

namespace Hourhinge.Tests.Host.App.Rehearse;

/// <summary>One command for every drive: the same options, the same page, the same JSON.</summary>
public sealed class RehearseCommandTests : IDisposable
{
    private readonly string _folder = Directory.CreateTempSubdirectory("rehearse-").FullName;

    public void Dispose() => Directory.Delete(_folder, true);

    [Fact]
    public void Every_drive_has_the_same_JSON_and_starts_with_and_without_a_home_switch()
    {
        string[]? names = null;
        foreach (string drive in DriveRigs.Drives)
        {
            foreach (bool home in new[] { true, false })
            {
                string rig = Write(DriveRigs.Text("straight-rod", true, drive, home));
                (int code, string json, string error) = Tool.Run("rehearse", rig, "--minutes", "2", "--tolerance",
                    "1000", "--json");
                Assert.True(code == 0, error);
                JsonElement root = JsonDocument.Parse(json).RootElement;
                Assert.Equal(drive, root.GetProperty("drive").GetString());
                Assert.Equal("TRACKING", root.GetProperty("final_state").GetString());
                Assert.Equal(JsonValueKind.Number, root.GetProperty("lateness_worst_s").ValueKind);
                Assert.Equal(JsonValueKind.Number, root.GetProperty("lateness_mean_s").ValueKind);
                string[] mine = [.. root.EnumerateObject().Select(p => p.Name)];
                Assert.Equal(names ??= mine, mine);
            }
        }
    }

    [Theory]
    [InlineData("dc-encoder")]
    [InlineData("dc")]
    public void A_DC_rig_has_page_plot_and_frames_and_speaks_of_no_microstep(string drive)
    {
        string rig = Write(DriveRigs.Text("bent-rod", true, drive, false));
        string page = Path.Combine(_folder, "page.html");
        string plot = Path.Combine(_folder, "plot.png");
        string frames = Path.Combine(_folder, "frames");
        (int code, string text, string error) = Tool.Run("rehearse", rig, "--minutes", "3", "--html", page, "--plot",
            plot, "--frames", frames, "--count", "1", "--stopped-count", "1", "--exposure", "5");
        Assert.True(code is 0 or 1, error);
        Assert.True(new FileInfo(plot).Length > 1000);
        Assert.Single(Directory.GetFiles(Path.Combine(frames, "tracked"), "*.fits"));
        foreach (string words in new[] { text, File.ReadAllText(page) })
        {
            Assert.DoesNotContain("microstep", words, StringComparison.Ordinal);
            Assert.Contains("--by-eye-percent", words.Replace("\n", " ", StringComparison.Ordinal),
                StringComparison.Ordinal);
        }
    }

    [Theory]
    [InlineData("dc", "--lost-steps", "1", "--lost-steps: no effect on this rig: a DC motor makes no steps to lose")]
    [InlineData("stepper", "--load-swing", "1", "--load-swing: no effect on this rig")]
    [InlineData("stepper", "--axis-altitude", "5", "--axis-altitude has no effect without --frames")]
    [InlineData("stepper", "--tolerance", "-1", "--tolerance -1: must be 0.001 to 100000 arcsec")]
    [InlineData("dc", "--pack-mah", "2000", "the pack's hours need both")]
    public void An_option_without_effect_is_refused(string drive, string option, string value, string expected)
    {
        string rig = Write(DriveRigs.Text("straight-rod", true, drive, true));
        (int code, _, string error) = Tool.Run("rehearse", rig, "--minutes", "1", option, value);
        Assert.Equal(2, code);
        Assert.Contains(expected, error, StringComparison.Ordinal);
    }

    // A pass every 100 ms makes a step 100 ms late, at the end of the travel as anywhere; it said 0.6 s.
    [Fact]
    public void The_end_of_the_travel_is_not_late()
    {
        string rig = Write(File.ReadAllText(Tool.Example("straight-quarter-twenty"))
            .Replace("longest_mm = 150.0", "longest_mm = 24.5", StringComparison.Ordinal));
        (int code, string json, string error) = Tool.Run("rehearse", rig, "--minutes", "5", "--pass", "100", "--json");
        Assert.True(code == 0, error);
        JsonElement root = JsonDocument.Parse(json).RootElement;
        Assert.Equal("END", root.GetProperty("final_state").GetString());
        Assert.InRange(root.GetProperty("lateness_worst_s").GetDouble(), 0.05, 0.11);
    }

    [Fact]
    public void Frames_after_the_end_of_the_travel_are_refused()
    {
        string rig = Write(File.ReadAllText(Tool.Example("straight-quarter-twenty"))
            .Replace("longest_mm = 150.0", "longest_mm = 24.5", StringComparison.Ordinal));
        string frames = Path.Combine(_folder, "late");
        (int code, _, string error) =
            Tool.Run("rehearse", rig, "--frames", frames, "--count", "3", "--exposure", "120");
        Assert.Equal(2, code);
        Assert.Contains("take 6.3 min, and the travel has 3.5: at most 1.", error, StringComparison.Ordinal);
        Assert.False(Directory.Exists(frames));
    }

    [Fact]
    public void A_trimmed_clock_is_told_where_the_crystal_is_exact()
    {
        string rig = Write(DriveRigs.Text("bent-rod", true, "stepper", true) + "\n[clock]\ntrim_ppm = 254\n");
        (_, string trimmed, _) = Tool.Run("rehearse", rig, "--minutes", "1");
        Assert.Contains("--clock-error -254.", trimmed.Replace("\n", " ", StringComparison.Ordinal),
            StringComparison.Ordinal);
        (_, string both, _) = Tool.Run("rehearse", rig, "--minutes", "1", "--clock-error", "-254");
        Assert.DoesNotContain("--clock-error", both, StringComparison.Ordinal);
    }

    [Fact]
    public void Frames_into_the_rig_file_itself_leave_it_there()
    {
        string rig = Write(DriveRigs.Text("straight-rod", true, "stepper", true));
        (int code, _, string error) = Tool.Run("rehearse", rig, "--minutes", "1", "--frames", rig, "--count", "1");
        Assert.Equal(2, code);
        Assert.Contains("this is a file; name a folder", error, StringComparison.Ordinal);
        Assert.True(File.Exists(rig));
    }

    // Set right and never sagging, a motor on an ideal rod would follow the sky; each assumption makes its own error.
    [Fact]
    public void The_constant_voltage_drive_has_the_errors_that_are_stated()
    {
        string rig = Write(DriveRigs.Text("bent-rod", true, "stepper", true));
        double[] Constant(string sag, string byEye, string periodic)
        {
            (_, string json, string error) =
                Tool.Run("rehearse", rig, "--minutes", "10", "--json", "--sag", sag, "--by-eye-percent", byEye,
                    "--periodic", periodic);
            Assert.True(json.Length > 0, error);
            return [.. JsonDocument.Parse(json).RootElement.GetProperty("constant_voltage_error_arcsec")
                .EnumerateArray().Select(v => v.GetDouble())];
        }

        // 15.041 arcsec/s (IERS 2010) over the last sample's time, a little under 10 minutes.
        double sky = 15.041067 * 595;
        Assert.InRange(Constant("0", "0", "0").Max(Math.Abs), 0, 0.01);
        Assert.InRange(Constant("0", "2", "0")[^1], 0.0195 * sky, 0.0205 * sky);
        Assert.InRange(Constant("4", "0", "0")[^1], -0.0205 * sky, -0.0195 * sky);
        Assert.InRange(Constant("0", "0", "12").Max(Math.Abs), 10, 13);
    }

    private string Write(string text)
    {
        string file = Path.Combine(_folder, $"{Guid.NewGuid():N}.toml");
        File.WriteAllText(file, text);
        return file;
    }
}
