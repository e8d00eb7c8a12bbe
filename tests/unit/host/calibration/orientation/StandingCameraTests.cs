// Real photographs of a camera that stood still (tests/reference/photographs, CC-BY-4.0): the sky's rotation is the
// ruler, 15.041067 arcsec/s (IERS Conventions 2010). By the command, as a user who put them in for tracked frames.
using System.Text.Json;
using Hourhinge.Tests.Host.App;
using Hourhinge.Tests.Host.Calibration.Stars;
using Hourhinge.Tests.Support;
using Xunit.Abstractions;

namespace Hourhinge.Tests.Host.Calibration.Orientation;

public sealed class StandingCameraTests(ITestOutputHelper output) : IDisposable
{
    private readonly string _folder = Directory.CreateTempSubdirectory("hourhinge-standing").FullName;

    public void Dispose() => Directory.Delete(_folder, true);

    [Theory]
    [InlineData(false, 6)]
    [InlineData(true, 3)]
    public void A_standing_camera_is_a_stopped_drive(bool quick, int frames)
    {
        string[] ask = ["calibrate", "stars", RigFile(), Photographs(), "--utc-offset", "5.5", "--json"];
        (int code, string json, string error) = Tool.Run(quick ? [.. ask, "--quick"] : ask);
        output.WriteLine(json + error);
        Assert.Equal(1, code);
        JsonElement found = JsonDocument.Parse(json).RootElement;
        double Value(string name) => found.GetProperty(name).GetDouble();
        Assert.Equal(frames, found.GetProperty("frames").GetInt32());
        double half = Value("sky_rate_half_95_arcsec_per_s");
        Assert.InRange(Value("sky_rate_arcsec_per_s") - 15.041067, -half, half);
        Assert.InRange(half, 0, 0.1);
        Assert.InRange(Value("rate_error_percent"), -101, -99);
        Assert.False(found.GetProperty("trusted").GetBoolean());
        Assert.Contains("stopped", found.GetProperty("reasons_not_to_trust")[0].GetString()!,
            StringComparison.Ordinal);
        // The table's focal lengths are 1357.6 to 1363.1.
        Assert.InRange(Value("focal_length_px"), 1354, 1366);
        Assert.InRange(Value("k1"), -0.125, -0.085);
    }

    /// <summary>Frames of no sky and no place told: a question, not an answer.</summary>
    [Fact]
    public void Frames_that_are_not_recognised_need_a_place()
    {
        FewFrames.Write(_folder, [0, 0, 0, 0]);
        (int code, _, string error) = Tool.Run("calibrate", "stars", RigFile(), _folder);
        Assert.Equal(2, code);
        Assert.Contains("Where did the camera look? Its frames were not recognised", error, StringComparison.Ordinal);
    }

    private static string Photographs() => RepositoryFile.Path("tests/reference/photographs/fixed-24mm");

    // 24 mm, 36 mm over 2000 columns; where the camera stood.
    private string RigFile()
    {
        string file = Path.Combine(_folder, "rig.toml");
        File.WriteAllText(file, File.ReadAllText(Tool.Example("bent-m6-geared"))
            .Replace("pixel_um = 4.3", "pixel_um = 5.874", StringComparison.Ordinal)
            .Replace("lenses_mm = [85, 35]", "lenses_mm = [24]", StringComparison.Ordinal)
            .Replace("latitude_deg = 42.8", "latitude_deg = 13.0", StringComparison.Ordinal)
            .Replace("longitude_deg = -3.1", "longitude_deg = 77.6", StringComparison.Ordinal)
            .Replace("height_m = 1310", "height_m = 900", StringComparison.Ordinal));
        return file;
    }
}
