// A tracked run over a landscape: the stars stand still on the sensor, the hill with its lamps drifts through it.
// What the hill hides or adds must not reach recognition or fit. Rendered frames of the catalogue's stars.
using Hourhinge.Calibration.Orientation;
using Hourhinge.Calibration.Stars;
using Hourhinge.Frames.Matching;
using Hourhinge.Frames.Reading;
using Hourhinge.Numerics;
using Hourhinge.Rig;
using Hourhinge.Sky.Observing;
using Hourhinge.Starfield.Files;
using Hourhinge.Starfield.Render;
using Hourhinge.Starfield.Scenes;
using Hourhinge.Tests.Host.Calibration.Stars;
using Xunit.Abstractions;

namespace Hourhinge.Tests.Host.Calibration.Orientation;

public sealed class LandscapeTests(ITestOutputHelper output)
{
    private const double Omega = 7.292115e-5, Exposure = 20, Gap = 27, Rate = 0.004, Declination = 25, Latitude = 45;
    private const double FocalPx = 50 / 3.9e-3, HourAngleDeg = -20, High = 14, Clockwise = -10;
    private const int Frames = 12, Width = 1230, Height = 820;

    [Fact]
    public void A_landscape_that_drifts_through_a_tracked_run_changes_nothing()
    {
        var scene = new Scene
        {
            StartUtc = new DateTime(2026, 11, 14, 20, 0, 0, DateTimeKind.Utc),
            Site = new SimulatedSite(Latitude, 0),
            Mount = new HingeMount(t => Omega * t * (1 + Rate), High, Clockwise),
            Pointing = Pointing.AtHourAngle(HourAngleDeg, Declination, 30),
            Lens = new Lens(50, 2.8),
            Sensor = new Sensor(Width, Height, 3.9),
            Stars = [],
            Refraction = new RefractionModel(950),
            Seed = 8,
        };
        double ra = new FrameRenderer(scene).CentreRightAscensionDeg;
        scene = scene with { Stars = RenderedFrames.RealStars(scene, ra, Declination, 3) };
        var hill = new Hill();
        RunFrame[] shots = [.. RenderedFrames.Shots(new FrameSequence(Frames, Exposure, Gap), scene, true,
            paint: hill.Paint)];
        output.WriteLine($"sources: {string.Join(' ', shots.Select(s => s.Field.StarCount))}; streaks: "
            + string.Join(' ', shots.Select(s => s.Field.Streaks.Count)));
        // The hill must be there to be left out.
        Assert.All(shots, s => Assert.InRange(s.Field.Streaks.Count, 15, 1000));

        var air = new Air(950, 10);
        RecognisedRun run = RecognisedRun.Of(shots, new SiteData("", Latitude, 0, 0), air, null)!;
        Assert.False(run.Standing()!.IsStopped);
        Assert.InRange(run.Standing()!.DriveRatePercent.Value, (100 * Rate) - 0.2, (100 * Rate) + 0.2);
        Assert.InRange(run.Reference.Centre.Declination.Degrees - Declination, -0.1, 0.1);
        StoppedResult lens = run.OnSensor();
        var aligned = RunAlignment.Of(run.SkyOnly(), lens.Sky.FocalLengthPx, run.Expected);
        Assert.Equal(Frames, aligned.Frames.Count);
        StarResult found = StarCalibration.Solve([CalibrationField.Of(run, lens, aligned)], new StarConditions(
            Angle.FromDegrees(Latitude), air, new Estimate(Exposure, 0, 0), 75, Angle.FromDegrees(0.5)))!;
        // The pole as seen is 58.3" cot 45 degrees higher, times 950 over 1010.
        output.WriteLine($"rate {found.Drive.RatePercent}, high {found.Axis.HighArcmin}, west {found.Axis.WestArcmin}, "
            + $"focal {found.Sky.FocalLengthPx}, {string.Join(" ", found.Reasons)}");
        Assert.Empty(found.Reasons);
        Holds(found.Drive.RatePercent, 100 * Rate, 0.02);
        Holds(found.Axis.HighArcmin, High - 0.91, 1.5);
        Holds(found.Axis.WestArcmin, -Clockwise * Math.Cos((Latitude + (High / 60)) * Math.PI / 180), 1);
        Holds(found.Sky.FocalLengthPx, FocalPx, 4);
    }

    // One run is no campaign: a little more than the interval may be missed by chance.
    private static void Holds(Estimate found, double truth, double maxHalf)
    {
        Assert.InRange(found.Half95, 0, maxHalf);
        Assert.InRange((found.Value - truth) / found.Half95, -1.3, 1.3);
    }

    // A dark hill with a bright edge and lamps, drawn where the ground is at a time: the drive turns the camera past it
    // at the sky's rate.
    private sealed class Hill
    {
        private const int Lamps = 220, Dark = 300;
        private static readonly double _pxPerSec = Omega * FocalPx * Math.Cos(Declination * Math.PI / 180);
        private readonly (double X, double Below, double Counts)[] _lamps;

        public Hill()
        {
            var random = new Random(12);
            _lamps = [.. Enumerable.Range(0, Lamps).Select(_ => ((random.NextDouble() * 2600) - 700,
                random.NextDouble() * 400, 300 * Math.Pow(60, random.NextDouble())))];
        }

        private static double Ridge(double x) => 540 + (60 * Math.Sin(x / 140)) + (18 * Math.Sin(x / 23));

        public void Paint(FrameImage image, double startSec)
        {
            for (int y = 400; y < Height; y++)
            {
                Span<ushort> row = image.CountsRow(y);
                for (int x = 0; x < Width; x++)
                {
                    double below = y - Ridge(x + (_pxPerSec * (startSec + (Exposure / 2))));
                    row[x] = below > 0 ? (ushort)(Dark + (row[x] / 40) + (below < 3 ? 900 : 0)) : row[x];
                }
            }

            foreach ((double lampX, double below, double counts) in _lamps)
            {
                const int Steps = 40;
                for (int k = 0; k < Steps; k++)
                {
                    double x = lampX - (_pxPerSec * (startSec + (Exposure * k / Steps)));
                    Spot(image, x, Ridge(lampX) + 4 + below, counts * 4 / Steps);
                }
            }
        }

        private static void Spot(FrameImage image, double x, double y, double counts)
        {
            for (int j = Math.Max((int)y - 3, 0); j <= Math.Min((int)y + 3, Height - 1); j++)
            {
                Span<ushort> row = image.CountsRow(j);
                for (int i = Math.Max((int)x - 3, 0); i <= Math.Min((int)x + 3, Width - 1); i++)
                {
                    double add = counts * Math.Exp(-0.5 * (((i - x) * (i - x)) + ((j - y) * (j - y))));
                    row[i] = (ushort)Math.Min(row[i] + add, 16383);
                }
            }
        }
    }
}
