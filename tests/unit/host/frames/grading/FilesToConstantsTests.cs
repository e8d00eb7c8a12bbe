// From pixels in files to the drive's constants, on a small sensor: stopped frames give direction and scale, driven
// frames the rate and the axis. One file is cut short.
using Hourhinge.Calibration.Orientation;
using Hourhinge.Calibration.Stars;
using Hourhinge.Frames.Matching;
using Hourhinge.Frames.Reading;
using Hourhinge.Frames.Stars;
using Hourhinge.Tests.Host.Calibration.Stars;
using Xunit.Abstractions;

namespace Hourhinge.Tests.Host.Frames.Grading;

public sealed class FilesToConstantsTests(ITestOutputHelper output) : IDisposable
{
    private const int Width = 1200, Height = 900;
    private const double Focal = 9000, Declination = 25, Degree = Math.PI / 180;
    private static readonly DateTime _start = new(2025, 1, 31, 21, 0, 0, DateTimeKind.Utc);
    private readonly DirectoryInfo _folder = Directory.CreateTempSubdirectory("whole-");

    public void Dispose() => _folder.Delete(true);

    [Fact]
    public void Files_in_constants_out()
    {
        var driven = new TurningSky(Declination, 10, 61, 220, 40, Focal, Width, Height)
        {
            RateError = -0.015,
            AxisUpDeg = 0.3,
            AxisWestDeg = 0.2
        };
        var still = new TurningSky(Declination, 10, 61, 220, 40, Focal, Width, Height) { Stopped = true };
        Draw(still, "stop0.fits", 0, 30);
        Draw(still, "stop1.fits", 90, 30);
        for (int i = 0; i < 16; i++)
        {
            Draw(driven, $"run{i:D2}.fits", i * 40.0, 20);
        }

        string cut = Path.Combine(_folder.FullName, "run07.fits");
        File.WriteAllBytes(cut, File.ReadAllBytes(cut)[..500_000]);

        IReadOnlyList<string> paths = FrameReader.FindFrames(_folder.FullName);
        var stopped = RunRead.Of(paths.Where(p => Path.GetFileName(p).StartsWith("stop", StringComparison.Ordinal))
            .ToList(), FrameOverrides.None);
        StoppedResult trails = StoppedSky.FromTrails(stopped.Frames[0].Field, 30, Declination * Degree)!;
        output.WriteLine(
            $"{stopped.Frames[0].Field.Streaks.Count} streaks, focal {trails.FocalLengthPx.Value:F1} ± "
            + $"{trails.FocalLengthPx.Half95:F1} ({Focal}), west off "
            + $"{Math.IEEERemainder(trails.WestAngleRad.Value - still.WestAngle, Math.PI) / Degree:F3} ± "
            + $"{trails.WestAngleRad.Half95 / Degree:F3} deg, arrow {trails.DirectionKnown}; "
            + $"{string.Join(" ", trails.Assessment.Reasons)}");
        Assert.InRange(trails.FocalLengthPx.Value / Focal, 0.995, 1.005);
        Assert.InRange(Math.IEEERemainder(trails.WestAngleRad.Value - still.WestAngle, Math.PI), -0.3 * Degree,
            0.3 * Degree);

        var read = RunRead.Of(paths.Where(p => Path.GetFileName(p).StartsWith("run", StringComparison.Ordinal))
            .ToList(), FrameOverrides.None);
        Assert.Contains("truncated", Assert.Single(read.Unreadable).Reason, StringComparison.Ordinal);
        var aligned = RunAlignment.Of(read.Frames, trails.FocalLengthPx.Value);
        Assert.Equal(15, aligned.Frames.Count);
        var sky = new SkyOnSensor(still.WestAngle, trails.FocalLengthPx.Value);
        DriftResult fit = DriftFit.Solve(DriftSample.Of(aligned), new DriftOptions(sky,
            new FieldPlace(Declination * Degree), 20, RateOrder: 1, ReferenceSeconds: aligned.ReferenceSeconds))!;
        double h = (10 * Degree) + (7.292115e-5 * 300), e1 = 60 * ((0.3 * Math.Cos(h)) + (0.2 * Math.Sin(h))), e2 = 60
            * ((0.3 * Math.Sin(h)) - (0.2 * Math.Cos(h)));
        output.WriteLine(
            $"rate {fit.RatePercent.Value:F3} ± {fit.RatePercent.Half95:F3} (-1.500) %, axis "
            + $"{fit.AxisTowardFieldArcmin.Value:F1} ± {fit.AxisTowardFieldArcmin.Half95:F1} ({e1:F1}), "
            + $"{fit.AxisEastOfFieldArcmin.Value:F2} ± {fit.AxisEastOfFieldArcmin.Half95:F2} ({e2:F2}) arcmin; "
            + $"{string.Join(" ", fit.Assessment.Reasons)}");
        Assert.InRange(fit.RatePercent.Value, -1.53, -1.47);
        Assert.InRange(fit.AxisTowardFieldArcmin.Value - e1, -2, 2);
        Assert.InRange(fit.AxisEastOfFieldArcmin.Value - e2, -0.3, 0.3);
    }

    private void Draw(TurningSky truth, string name, double mid, double exposure)
    {
        StarField a = truth.Trails(mid, exposure, 0);
        var random = new Random(5);
        var stars = a.Streaks.Select(s => new TinyStar((s.X1 + s.X2) / 2, (s.Y1 + s.Y2) / 2,
            15_000 / (0.05 + random.NextDouble()), s.X2 - s.X1, s.Y2 - s.Y1)).ToList();
        using FrameImage image = new TinySky(Width, Height, 150, (int)mid).Draw(stars, 1.1).Expose();
        using FileStream file = File.Create(Path.Combine(_folder.FullName, name));
        // Whole seconds, as a camera writes them.
        TestFitsFile.Write(file, image, h => h.Add("DATE-OBS",
            _start.AddSeconds(Math.Floor(mid - (exposure / 2) + 0.4)).ToString("s")).Add("EXPTIME", exposure));
    }
}
