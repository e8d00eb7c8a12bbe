using System.Text.Json;
using Hourhinge.Tests.Host.App;
using Xunit.Abstractions;

namespace Hourhinge.Tests.Host.Calibration.Stars;

/// <summary>
/// A rig that is wrong in every way is photographed under an invented sky (host/starfield, written apart from the
/// estimator), calibrated from the frames, and rehearsed again: 50 mm, exposures of 30 s, time stamps to the second.
/// HOURHINGE_CIRCLE=24 takes 40 frames of 24 megapixels of 3.9 µm, else there are 20 of 2 megapixels of 5.2 µm. What a
/// second field does to the interval: AxisErrorTests.
/// </summary>
public sealed class ClosedCircleTests(ITestOutputHelper output) : IDisposable
{
    private static readonly string[] _faults =
        ["--radius-error", "1.5", "--bend-error", "1.5", "--rod-wave", "30", "--periodic", "12"];
    private static readonly string[] _partsOfThePage =
        ["Field 1: drift and fit", "Field 1: residuals", "Field 2: residuals", "What to do next"];

    private static readonly bool _isFullSize = Environment.GetEnvironmentVariable("HOURHINGE_CIRCLE") == "24";

    private readonly string _folder = Directory.CreateTempSubdirectory("hourhinge-circle").FullName;

    public void Dispose() => Directory.Delete(_folder, true);

    [Fact]
    public void A_rig_that_is_wrong_in_every_way_is_put_right_by_its_own_star_frames()
    {
        string rig = RigFile();
        string frames = Path.Combine(_folder, "frames");
        (int code, _, string error) = Tool.Run(
            [.. Rehearse(rig), "--lens", "50", "--frames", frames, "--count", _isFullSize ? "40" : "20",
            "--exposure", "30", "--gap", _isFullSize ? "15" : "60", "--stopped-count", "1",
            "--dec", "40", "--hour-angle", "-1", "--axis-altitude", "20", "--axis-azimuth", "30",
            "--whole-second-stamps"]);
        Assert.True(code == 1, error); // As built, the error exceeds a pixel by far.

        string second = Path.Combine(_folder, "second");
        (code, _, error) = Tool.Run(
            [.. Rehearse(rig), "--lens", "50", "--frames", second, "--count", "12",
            "--exposure", "30", "--gap", "15", "--stopped-count", "1",
            "--dec", "20", "--hour-angle", "4", "--roll", "70", "--seed", "5", "--axis-altitude", "20",
            "--axis-azimuth", "30", "--whole-second-stamps"]);
        Assert.True(code == 1, error);
        string html = Path.Combine(_folder, "page.html");
        (code, string json, error) = Tool.Run("calibrate", "stars", rig, frames, "--dec", "40", "--hour-angle", "-1",
            "--pointing-error", "0.1", "--second", $"{second},20,4", "--write", "--json",
            "--html", html);
        Assert.True(code == 0, json + error);
        JsonElement found = JsonDocument.Parse(json).RootElement;
        (code, _, error) = Tool.Run("calibrate", "stars", rig, frames, "--dec", "40", "--hour-angle", "-1", "--write");
        Assert.Equal(2, code); // The same frames again.
        Assert.Contains("contains the correction from these readings already", error, StringComparison.Ordinal);
        double[] left = [.. found.GetProperty("residual_east_px").EnumerateArray().Select(v => v.GetDouble())];
        Assert.Equal((_isFullSize ? 40 : 20) + 12, left.Length);
        Assert.InRange(left.Max(Math.Abs), 1e-4, 0.1);
        string page = File.ReadAllText(html);
        foreach (string part in _partsOfThePage)
        {
            Assert.Contains(part, page, StringComparison.Ordinal);
        }

        double high = found.GetProperty("axis_high_arcmin").GetDouble();
        double west = found.GetProperty("axis_west_arcmin").GetDouble();
        // Azimuth is the turn of the tripod; on the sky it is shorter by the cosine of the altitude of the axis.
        double westTruth = -30 * Math.Cos((42.8 + (20 / 60.0)) * Math.PI / 180);
        output.WriteLine(
            $"axis high {high:F2}' (truth 20), west {west:F2}' (truth {westTruth:F2}); rate "
            + $"{found.GetProperty("rate_error_percent").GetDouble():F4} %");
        // Counted from the pole as seen through the air of 1310 m.
        Assert.InRange(high + 0.90, 20 - 1.5, 20 + 1.5);
        Assert.InRange(west, westTruth - 1.5, westTruth + 1.5);
        Assert.InRange(found.GetProperty("axis_high_half_95_arcmin").GetDouble(), 0, 1.5);
        Assert.InRange(found.GetProperty("axis_west_half_95_arcmin").GetDouble(), 0, 1.5);

        (code, json, error) = Tool.Run([.. Rehearse(rig), "--json"]);
        Assert.True(code == 0, error);
        JsonElement after = JsonDocument.Parse(json).RootElement;
        double[] errors = [.. after.GetProperty("error_arcsec").EnumerateArray().Select(v => v.GetDouble())];
        double[] minutes = [.. after.GetProperty("minute").EnumerateArray().Select(v => v.GetDouble())];
        double ratePercent = (errors[^1] - errors[0]) / (15.041067 * 60 * (minutes[^1] - minutes[0])) * 100;
        output.WriteLine(
            $"after: peak {after.GetProperty("peak_arcsec").GetDouble():F3} arcsec over 30 min, mean rate error "
            + $"{ratePercent:F4} %");
        Assert.InRange(after.GetProperty("peak_arcsec").GetDouble(), 0, 2);
        Assert.InRange(Math.Abs(ratePercent), 0, 0.01);
        Assert.Contains("# hinge axis to the nut", File.ReadAllText(rig), StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("--quick", "--write", "two frames are too few to --write")]
    [InlineData("--pointing-error", "40", "--pointing-error")]
    public void What_cannot_be_done_is_said_before_frames_are_read(string option, string value, string expected)
    {
        (int code, _, string error) =
            Tool.Run("calibrate", "stars", RigFile(), _folder, "--dec", "40", "--hour-angle", "-1", option, value);
        Assert.Equal(2, code);
        Assert.Contains(expected, error, StringComparison.Ordinal);
    }

    [Fact]
    public void Frames_that_are_no_frames_are_refused_by_name()
    {
        string rig = RigFile();
        (int code, _, string error) =
            Tool.Run("calibrate", "stars", rig, Path.Combine(_folder, "nothing"), "--dec", "40", "--hour-angle", "-1");
        Assert.Equal(2, code);
        Assert.Contains("there is no such folder", error, StringComparison.Ordinal);
        string empty = Directory.CreateDirectory(Path.Combine(_folder, "run", "stopped")).FullName;
        (code, _, error) = Tool.Run("calibrate", "stars", rig, Path.Combine(_folder, "run"), "--target", "M31");
        Assert.Equal(2, code);
        Assert.Contains($"{empty}: no frames with the drive stopped in it", error, StringComparison.Ordinal);
    }

    private static string[] Rehearse(string rig) => ["rehearse", rig, "--minutes", "30", .. _faults];

    private string RigFile()
    {
        string text = File.ReadAllText(Tool.Example("bent-m6-geared"))
            .Replace("pixel_um = 4.3", _isFullSize ? "pixel_um = 3.9" : "pixel_um = 5.2", StringComparison.Ordinal);
        text = _isFullSize
            ? text
            : text.Replace("width_px = 6000", "width_px = 1800", StringComparison.Ordinal)
                .Replace("height_px = 4000", "height_px = 1200", StringComparison.Ordinal);
        string file = Path.Combine(_folder, $"rig.toml");
        File.WriteAllText(file, text);
        return file;
    }
}
