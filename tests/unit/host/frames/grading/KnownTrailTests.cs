// The whole way of a frame with a known trail: rendered by host/starfield under a hinge whose rate is off, written as a
// file, graded. HOURHINGE_GRADING=500 for the full size; a few dozen otherwise.
using System.Globalization;
using Hourhinge.Frames.Grading;
using Hourhinge.Frames.Reading;
using Hourhinge.Starfield.Geometry;
using Hourhinge.Starfield.Render;
using Hourhinge.Starfield.Scenes;
using Xunit.Abstractions;

namespace Hourhinge.Tests.Host.Frames.Grading;

public sealed class KnownTrailTests(ITestOutputHelper output)
{
    private const int FewFrames = 60;
    private const double ExposureSec = 30;
    private const double DecDeg = 30;

    private static int Count =>
        int.TryParse(Environment.GetEnvironmentVariable("HOURHINGE_GRADING"), CultureInfo.InvariantCulture, out int n)
        ? Math.Clamp(n, 10, 5000)
        : FewFrames;

    [Fact]
    public void Every_rendered_frame_trailed_by_more_than_2_px_is_dropped_and_none_below_half_a_pixel()
    {
        string folder = Directory.CreateTempSubdirectory("hourhinge-trails-").FullName;
        try
        {
            double[] truth = Write(folder);
            IReadOnlyList<FrameMeasures> measures =
                GradingRun.Measure(FrameReader.FindFrames(folder), FrameOverrides.None, null);
            IReadOnlyList<GradedFrame> graded = FrameGrader.Grade(measures);
            int over = truth.Count(t => t > 2), under = truth.Count(t => t < 0.5), missed = 0, wronged = 0;
            double worst = 0;
            for (int i = 0; i < truth.Length; i++)
            {
                bool dropped = graded[i].Grade == FrameGrade.Drop;
                missed += truth[i] > 2 && !dropped ? 1 : 0;
                wronged += truth[i] < 0.5 && dropped ? 1 : 0;
                worst = truth[i] is > 1 and < 4 ? Math.Max(worst, Math.Abs(measures[i].TrailPx - truth[i])) : worst;
                if ((truth[i] > 2 && !dropped) || (truth[i] < 0.5 && graded[i].Grade != FrameGrade.Keep))
                {
                    output.WriteLine($"{measures[i].Name}: truth {truth[i]:F2} px, {graded[i].Reason}");
                }
            }

            output.WriteLine(
                $"{truth.Length} frames: {over} trailed by more than 2 px, {missed} of them not dropped; {under} "
                + $"below 0.5 px, {wronged} of them dropped; largest error between 1 and 4 px {worst:F2} px; "
                + $"{measures.Min(m => m.Stars)} to {measures.Max(m => m.Stars)} stars a frame");
            Assert.True(over >= truth.Length / 4 && under >= truth.Length / 4);
            Assert.Equal(0, missed);
            Assert.Equal(0, wronged);
        }
        finally
        {
            Directory.Delete(folder, recursive: true);
        }
    }

    // A third with next to no trail, the others with up to 6 px; the hinge's rate is off by what makes it.
    private static double[] Write(string folder)
    {
        double[] truth = new double[Count];
        var random = new Random(42);
        (double Px, double Roll, int Sign)[] wanted = truth.Select((_, i) => (Px: i % 3 == 0
            ? 0.5 * random.NextDouble()
            : 6 * random.NextDouble(), Roll: 360 * random.NextDouble(), Sign: random.Next(2) == 0 ? -1 : 1)).ToArray();
        Parallel.For(0, truth.Length, new ParallelOptions { MaxDegreeOfParallelism = 2 }, i =>
        {
            double perPx = 5.9e-3 / 200;
            double rate = DiurnalMotion.RateRadPerSec
                + (wanted[i].Sign * wanted[i].Px * perPx / ExposureSec / Math.Cos(DecDeg * Math.PI / 180));
            var scene = new Scene
            {
                StartUtc = new DateTime(2026, 10, 12, 21, 0, 0, DateTimeKind.Utc),
                Site = new SimulatedSite(47, 11),
                Mount = new HingeMount(t => rate * t, 5, -5),
                Pointing = Pointing.AtHourAngle(-10, DecDeg, wanted[i].Roll - 180),
                Lens = new Lens(200, 2.8) { SpotFwhmMicrometres = 12 },
                Sensor = new Sensor(1500, 1000, 5.9),
                Stars = [],
                Seed = (ulong)i + 1,
            };
            double ra = new FrameRenderer(scene).CentreRightAscensionDeg;
            // 2.5 by 1.7 degrees; 150 stars.
            scene = scene with { Stars = RandomField.Create(77, ra, DecDeg, 3, RandomField.FaintestFor(150, 4.25)) };
            Hourhinge.Starfield.Render.RenderedFrame frame = new FrameRenderer(scene).Render(i, 0, ExposureSec);
            // What the stars really did, refraction and axis included: the median of their paths' lengths.
            var lengths = frame.Truth.Select(s => Math.Sqrt((s.TrailX * s.TrailX) + (s.TrailY * s.TrailY))).Order()
                .ToList();
            truth[i] = lengths[lengths.Count / 2];
            Hourhinge.Starfield.Files.FitsWriter.Write(Path.Combine(folder, $"frame_{i + 1:D4}.fits"), frame,
                new Hourhinge.Starfield.Files.CameraClock());
        });
        return truth;
    }
}
