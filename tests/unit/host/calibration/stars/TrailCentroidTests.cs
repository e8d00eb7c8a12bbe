// The centroid model against the star finder itself, on frames of host/starfield with a large periodic error, a long
// lens and long exposures.
using Hourhinge.Calibration.Orientation;
using Hourhinge.Calibration.Stars;
using Hourhinge.Frames.Matching;
using Hourhinge.Numerics;
using Hourhinge.Starfield.Files;
using Hourhinge.Starfield.Render;
using Hourhinge.Starfield.Scenes;
using Xunit.Abstractions;

namespace Hourhinge.Tests.Host.Calibration.Stars;

public sealed class TrailCentroidTests(ITestOutputHelper output)
{
    private const double Omega = 7.292115e-5, Arcsec = 206264.806247, Declination = 20, Pixel = 3.9;

    private static int Trials => Campaign.Trials(3);

    /// <summary>A path that stays still, and one that is even: the middle. A turning point: beyond the mean.</summary>
    [Fact]
    public void The_window_leans_to_where_the_star_stays()
    {
        var centroid = new TrailCentroid(40, 0.8, 1);
        Assert.Equal(3, centroid.At(_ => 3, 10), 9);
        Assert.Equal(0.5, centroid.At(t => t / 20, 10), 6);
        double mean = 0, square = 40.0 * 40 / 12;
        double seen = centroid.At(t => 0.006 * (t - 10) * (t - 10), 10);
        mean = 0.006 * square;
        output.WriteLine($"mean {mean:F4}, seen {seen:F4}");
        Assert.InRange(seen, 0.4 * mean, 0.98 * mean);
        Assert.Equal(mean, new TrailCentroid(40, double.PositiveInfinity, 1).At(t => 0.006 * (t - 10) * (t - 10), 10),
            2);
    }

    /// <summary>Amplitudes of 6 to 16 arcsec at 50 to 210 mm, exposures up to 60 % of the period.</summary>
    [Fact]
    public void The_amplitude_holds_its_interval_at_long_lenses_and_exposures()
    {
        int held = 0;
        double worst = 0;
        string[] lines = new string[Trials];
        Parallel.For(0, Trials, new ParallelOptions { MaxDegreeOfParallelism = 2 }, k =>
        {
            (Estimate found, double truth, string how) = One(k);
            lines[k] = $"{k} {how}: {found.Value:F3} ± {found.Half95:F3} of {truth:F3}";
            lock (lines)
            {
                held += found.Contains(truth) ? 1 : 0;
                worst = Math.Max(worst, Math.Abs(found.Value - truth) / truth);
            }
        });
        output.WriteLine(string.Join('\n', lines));
        output.WriteLine($"held {held} of {Trials}, worst {100 * worst:F2} %");
        Assert.True(Campaign.Chance(held, Trials) > 0.01, $"{held} of {Trials}");
        Assert.InRange(worst, 0, 0.03);
    }

    /// <summary>In the frame that the others are counted from, every trail is too long for the finder's window to
    /// settle.</summary>
    [Fact]
    public void The_amplitude_is_right_where_a_frame_has_long_trails_only()
    {
        (Estimate found, double truth, string how) = One(99);
        output.WriteLine($"{how}: {found.Value:F3} ± {found.Half95:F3} of {truth:F3}");
        Assert.InRange(found.Value / truth, 0.995, 1.005);
    }

    private static (Estimate Found, double Truth, string How) One(int seed)
    {
        var random = new Random(4100 + seed);
        double Between(double a, double b) => a + (random.NextDouble() * (b - a));
        double focal = seed % 3 == 0 ? 210 : seed % 3 == 1 ? 105 : 50;
        double period = Between(55, 95), exposure = Between(0.25, 0.6) * period, amplitude = Between(6, 16);
        double phase = Between(0, 2 * Math.PI), rate = Between(-3e-4, 3e-4), gap = Between(3, 9);
        // Frames that always meet the sine at the same places cannot tell its size.
        while (Math.Abs(Math.IEEERemainder(2 * (exposure + gap) / period, 1)) < 0.1)
        {
            gap += 0.5;
        }

        int width = 900, height = 600;
        var scene = new Scene
        {
            StartUtc = new DateTime(2026, 11, 14, 20, 0, 0, DateTimeKind.Utc),
            Site = new SimulatedSite(45, 0),
            Mount = new HingeMount(t => (Omega * t * (1 + rate))
                + (amplitude / Arcsec * Math.Sin((2 * Math.PI * t / period) + phase))),
            Pointing = Pointing.AtHourAngle(-10, Declination, Between(-180, 180)),
            Lens = new Lens(focal, 2.8),
            Sensor = new Sensor(width, height, Pixel),
            Stars = [],
            Refraction = null,
            Seed = (ulong)seed + 5,
        };
        double squareDegrees = Math.Pow(Pixel * 1e-3 / focal * 57.29578, 2) * width * height;
        scene = scene with
        {
            Stars = RandomField.Create((ulong)seed + 77, new FrameRenderer(scene).CentreRightAscensionDeg, Declination,
                Math.Sqrt(squareDegrees) + 1, RandomField.FaintestFor(120, squareDegrees)),
        };
        double focalPx = focal * 1000 / Pixel, west = RenderedFrames.WestAngleRad(scene.Pointing.RollDeg);
        RunAlignment run = RunAlignment.Of(
            [.. RenderedFrames.Shots(new FrameSequence(18, exposure, gap), scene, false)], focalPx);
        DriftResult found = DriftFit.Solve(DriftSample.Of(run), new DriftOptions(
            new SkyOnSensor(west, focalPx), new FieldPlace(Declination * Math.PI / 180, 0, 0, default, width, height),
            exposure, period, ReferenceSeconds: run.ReferenceSeconds, SpotVariancePx2: run.SpotVariancePx2))!;
        return (found.Periodic!.AmplitudeArcsec, amplitude,
            $"{focal} mm, {exposure:F0} s of {period:F0} s, {run.Frames.Count} frames");
    }
}
