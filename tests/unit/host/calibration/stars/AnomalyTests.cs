// Everything goes wrong in one night, in files: clouds through half the frames, a plane, a bump of the tripod, a lens
// changed, two files whose names swap the order, a truncated file, a frame of another night. Each is named, left out or
// refused, and the rest gives the drive and the axis as it stands after the bump.
using System.Text.Json;
using Hourhinge.Starfield.Files;
using Hourhinge.Starfield.Render;
using Hourhinge.Starfield.Scenes;
using Hourhinge.Tests.Host.App;
using Xunit.Abstractions;

namespace Hourhinge.Tests.Host.Calibration.Stars;

public sealed class AnomalyTests(ITestOutputHelper output) : IDisposable
{
    private const double Exposure = 20, Gap = 25, Cycle = Exposure + Gap, Omega = 7.292115e-5, Declination = 35;
    private const double PoleLift = 0.90;
    private readonly string _folder = Directory.CreateTempSubdirectory("hourhinge-mishaps").FullName;

    public void Dispose() => Directory.Delete(_folder, true);

    [Fact]
    public void Each_anomaly_is_named_and_the_rest_is_calibrated()
    {
        string tracked = Made("tracked"), stopped = Made("stopped"), other = Made("other");
        var start = new DateTime(2026, 11, 14, 20, 10, 0, DateTimeKind.Utc);
        double[] cloudy = [.. Enumerable.Range(7, 6), .. Enumerable.Range(19, 6), .. Enumerable.Range(30, 6)];
        Scene night = Scene(start) with
        {
            Mount = new HingeMount(t => Omega * t * 1.004, 10, -12),
            Disturbances = new Disturbances
            {
                Cloud = t => cloudy.Contains(Math.Floor(t / Cycle)) ? 0.02 : 1,
                Planes = [new PlaneTrail(14 * Cycle, (14 * Cycle) + 12, 100, -20, 1100, 840, 400)],
                Bumps = [new TripodBump((16 * Cycle) - 5, 6, 4)],
                LensChanges = [new LensChange((36 * Cycle) - 5, new Lens(70, 2.8))],
            },
        };
        night = night with { Stars = Stars(night) };
        var clock = new CameraClock(WholeSeconds: true);
        new FrameSequence(39, Exposure, Gap).Write(night, tracked, FrameFormat.Fits, clock);
        new FrameSequence(2, 30, 5).Write(night with
        {
            Mount = new HingeMount(_ => 0, 10, -12),
            Disturbances = Disturbances.None,
            StartUtc = start.AddSeconds(-90)
        }, stopped, FrameFormat.Fits, clock);
        new FrameSequence(1, Exposure)
            .Write(night with { Disturbances = Disturbances.None, StartUtc = start.AddDays(-3) }, other,
                FrameFormat.Fits, clock);

        string Frame(int number) => Path.Combine(tracked, $"frame-{number:D4}.fits");
        File.Move(Path.Combine(other, "frame-0001.fits"), Frame(40));
        File.Move(Frame(6), Path.Combine(tracked, "swap"));
        File.Move(Frame(7), Frame(6));
        File.Move(Path.Combine(tracked, "swap"), Frame(7));
        using (FileStream cut = File.OpenWrite(Frame(4)))
        {
            cut.SetLength(cut.Length / 2);
        }

        string rig = Path.Combine(_folder, "rig.toml");
        File.WriteAllText(rig, File.ReadAllText(Tool.Example("bent-m6-geared"))
            .Replace("pixel_um = 4.3", "pixel_um = 3.9", StringComparison.Ordinal));
        (int code, string json, string error) = Tool.Run(
            "calibrate", "stars", rig, _folder, "--dec", $"{Declination}", "--hour-angle", "-1", "--pointing-error",
            "0.1", "--json");
        output.WriteLine(json + error);
        JsonElement found = JsonDocument.Parse(json).RootElement;
        string[] notes = [.. found.GetProperty("notes").EnumerateArray().Select(n => n.GetString()!)];
        void Named(int number, string reason) => Assert.Contains(notes, n =>
            n.StartsWith($"frame-{number:D4}.fits: ", StringComparison.Ordinal)
            && n.Contains(reason, StringComparison.Ordinal));
        Assert.All(cloudy, k => Named((int)k + 1, "clouds"));
        Named(15, "aircraft");
        Named(17, "bump");
        Assert.All(Enumerable.Range(37, 3), k => Named(k, "lens changed"));
        Named(7, "sorted by time");
        Named(4, "truncated");
        Named(40, "another night");
        Assert.DoesNotContain(notes, n => n.StartsWith("frame-0002", StringComparison.Ordinal));

        Assert.True(code == 0, json);
        double Value(string name) => found.GetProperty(name).GetDouble();
        void Holds(string name, string unit, double truth) =>
            Assert.InRange(Value($"{name}_{unit}") - truth, -1.3 * Value($"{name}_half_95_{unit}"),
                1.3 * Value($"{name}_half_95_{unit}"));
        // Clockwise is north over east; the bump left the axis 14' high and 6' counter-clockwise.
        // The axis is counted from the pole as seen: 58.3" cot 42.8° higher, times the air's 867 hPa over 1010.
        Holds("axis_high", "arcmin", 14 - PoleLift);
        Holds("axis_west", "arcmin", 6 * Math.Cos((42.8 + (14 / 60.0)) * Math.PI / 180));
        Holds("rate_error", "percent", 0.4);
        Assert.InRange(Value("axis_high_half_95_arcmin"), 0, 1.5);

        // The same by the target's place (here the place of date, which is within 0.2 degrees of J2000) and the files'
        // times.
        double ra = new FrameRenderer(night).CentreRightAscensionDeg;
        (code, json, error) = Tool.Run("calibrate", "stars", rig, _folder, "--target",
            $"{ra:F2},{Declination}", "--json");
        Assert.True(code == 0, json + error);
        JsonElement byTarget = JsonDocument.Parse(json).RootElement;
        output.WriteLine(byTarget.GetProperty("fields")[0].GetString());
        Assert.InRange(byTarget.GetProperty("axis_high_arcmin").GetDouble() + PoleLift, 13.5, 14.5);
        Assert.InRange(byTarget.GetProperty("axis_west_arcmin").GetDouble() - Value("axis_west_arcmin"), -0.3, 0.3);

        // A camera clock of another zone puts the field under the horizon.
        string few = Directory.CreateDirectory(Path.Combine(_folder, "few")).FullName;
        foreach (int k in Enumerable.Range(25, 5))
        {
            File.Move(Frame(k), Path.Combine(few, $"{k}.fits"));
        }

        (code, _, error) = Tool.Run("calibrate", "stars", rig, few, "--stopped", stopped, "--target",
            $"{(ra + 180) % 360:F2},{-Declination}");
        Assert.Equal(2, code);
        Assert.Contains("at altitude -", error, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("Where did the camera look?", "--dec", "40")]
    [InlineData("leave --dec and --hour-angle out", "--target", "M31", "--dec", "40")]
    [InlineData("--target Nowhere: not in the tables", "--target", "Nowhere")]
    public void Where_the_camera_looked_must_be_told_once(string expected, params string[] options)
    {
        (int code, _, string error) =
            Tool.Run(["calibrate", "stars", Tool.Example("bent-m6-geared"), _folder, .. options]);
        Assert.Equal(2, code);
        Assert.Contains(expected, error, StringComparison.Ordinal);
    }

    private string Made(string name) => Directory.CreateDirectory(Path.Combine(_folder, name)).FullName;

    private static Scene Scene(DateTime start) => new()
    {
        StartUtc = start,
        Site = new SimulatedSite(42.8, -3.1),
        Mount = HingeMount.Stopped,
        Pointing = Pointing.AtHourAngle(-15, Declination, 30),
        Lens = new Lens(50, 2.8),
        Sensor = new Sensor(1230, 820, 3.9),
        Stars = [],
        Seed = 11,
    };

    private static IReadOnlyList<SimulatedStar> Stars(Scene scene) => RandomField.Create(
        77, new FrameRenderer(scene).CentreRightAscensionDeg, Declination, 8, RandomField.FaintestFor(250, 5.5 * 3.7));
}
