// Whole frames: light where the truth says, the same picture every time, disturbances that do what they say.

using Hourhinge.Numerics;
using Hourhinge.Starfield.Geometry;
using Hourhinge.Starfield.Render;
using Hourhinge.Starfield.Scenes;

namespace Hourhinge.Tests.Host.Starfield;

public class FrameTests
{
    private static readonly HingeMount _perfect = new(t => DiurnalMotion.RateRadPerSec * t);

    private static Scene WithStar(Scene scene, double magnitude, double dRa = 0, double dDec = 0)
    {
        double ra = new FrameRenderer(scene).CentreRightAscensionDeg;
        return scene with
        { Stars = new[] { new SimulatedStar(1, ra + dRa, scene.Pointing.DeclinationDeg + dDec, magnitude) } };
    }

    // Flux and centroid of everything above the background in a box about a place, in electrons and px.
    private static (double Electrons, double X, double Y) Measure(RenderedFrame f, PixelPoint about, int half)
    {
        Sensor s = f.Scene.Sensor;
        double level = s.BiasAdu + (f.BackgroundElectrons / s.GainElectronsPerAdu), sum = 0, sx = 0, sy = 0;
        int cx = (int)Math.Round(about.X), cy = (int)Math.Round(about.Y);
        for (int y = cy - half; y <= cy + half; y++)
        {
            for (int x = cx - half; x <= cx + half; x++)
            {
                double e = (f.Pixels.Span[(y * s.WidthPx) + x] - level) * s.GainElectronsPerAdu;
                sum += e;
                sx += e * x;
                sy += e * y;
            }
        }
        return (sum, sx / sum, sy / sum);
    }

    [Theory]
    [InlineData(0, 0)]
    [InlineData(0.4, -0.31)]
    [InlineData(-0.9, 0.7)]
    public void The_light_of_a_star_lies_where_the_truth_says_and_is_what_its_magnitude_says(double dRa, double dDec)
    {
        Scene scene = WithStar(StarfieldReference.Scene(), 7, dRa, dDec);
        RenderedFrame frame = new FrameRenderer(scene).Render(0, 3, 30);
        StarTruth truth = Assert.Single(frame.Truth);
        (double electrons, double x, double y) = Measure(frame, truth.Mean, 25);
        // 8.79e5 photons/s/cm^2 at V = 0 (see Sky), pupil 17.857 mm, efficiency 0.4, 30 s.
        double expected = 8.79e5 * Math.Pow(10, -2.8) * Math.PI / 4 * 1.7857 * 1.7857 * 0.4 * 30;
        double boxNoise = 51 * Math.Sqrt(frame.BackgroundElectrons + 9);
        double five = 5 * Math.Sqrt(expected + (boxNoise * boxNoise));
        Assert.InRange(truth.Electrons / expected, 0.9999, 1.0001);
        Assert.InRange(electrons - expected, -five, five);
        // Noise of a box centroid: background noise of a pixel times the rms lever of 51 pixels, per electron.
        double centroidError = (5 * boxNoise * 51 / Math.Sqrt(12) / expected) + 0.02;
        Assert.InRange(x - truth.Mean.X, -centroidError, centroidError);
        Assert.InRange(y - truth.Mean.Y, -centroidError, centroidError);
        // 30 s x 15.041067 x cos(dec) / (arcsec per px), to half a per cent for the gnomonic stretch off the axis.
        double length = Math.Sqrt((truth.TrailX * truth.TrailX) + (truth.TrailY * truth.TrailY));
        double law = 30 * 15.041067 * Math.Cos((30 + dDec) * Math.PI / 180) / scene.ScaleArcsecPerPx(0);
        Assert.InRange(length / law, 0.995, 1.005);
    }

    [Fact]
    public async Task Frames_are_the_same_on_one_core_and_on_many_and_in_any_order()
    {
        Scene scene = StarfieldReference.Scene() with { Seed = 42 };
        scene = scene with
        {
            Sensor = scene.Sensor with { HotPixelShare = 1e-4 },
            Stars = RandomField.Create(1, new FrameRenderer(scene).CentreRightAscensionDeg, 30, 3, 11),
        };
        var renderer = new FrameRenderer(scene);
        ushort[] many = renderer.Render(3, 105, 30).Pixels.ToArray();
        renderer.Render(0, 0, 30);
        // Parallel loops started from a task of an exclusive scheduler run on that one thread.
        var alone = new TaskFactory(new ConcurrentExclusiveSchedulerPair().ExclusiveScheduler);
        ushort[] one = await alone.StartNew(() => renderer.Render(3, 105, 30).Pixels.ToArray());
        Assert.Equal(many, one);
        Assert.NotEqual(many, renderer.Render(4, 105, 30).Pixels.ToArray());
        Assert.NotEqual(many, new FrameRenderer(scene with { Seed = 43 }).Render(3, 105, 30).Pixels.ToArray());
    }

    [Fact]
    public void Numbers_of_stars_follow_the_counted_sky()
    {
        // Hipparcos counts as listed in OEIS A053406: stars brighter than V = 2, 3, 4, 5, 6, 7.
        int[] counted = { 49, 172, 511, 1600, 4968, 15328 };
        for (int i = 0; i < counted.Length; i++)
        {
            Assert.InRange(RandomField.StarsBrighterThan(i + 2) / counted[i], i < 2 ? 0.83 : 0.95, 1.05);
        }

        IReadOnlyList<SimulatedStar> sky = RandomField.Create(11, 0, 0, 180, 8);
        Assert.Equal(sky, RandomField.Create(11, 0, 0, 180, 8));
        Assert.Equal(Math.Round(RandomField.StarsBrighterThan(8)), sky.Count);
        foreach (int m in new[] { 4, 5, 6, 7 })
        {
            double expected = RandomField.StarsBrighterThan(m), sigma = Math.Sqrt(expected);
            Assert.InRange(sky.Count(s => s.Magnitude < m) - expected, -4 * sigma, 4 * sigma);
        }
        // Half of a uniform sky lies within 30 degrees of the equator (sin 30 = 1/2).
        double half = sky.Count / 2.0;
        Assert.InRange(sky.Count(s => Math.Abs(s.DeclinationDeg) < 30) - half, -2 * Math.Sqrt(half),
            2 * Math.Sqrt(half));
        Assert.InRange(RandomField.StarsBrighterThan(RandomField.FaintestFor(1500, 466)) * 466 / 41252.961, 1499, 1501);
    }

    [Fact]
    public void A_small_field_has_its_centre_where_it_was_asked_for()
    {
        foreach (SimulatedStar s in RandomField.Create(2, 123, -77, 5, 11))
        {
            Vector3 a =
                Vector3.FromSpherical(Angle.FromDegrees(s.RightAscensionDeg), Angle.FromDegrees(s.DeclinationDeg));
            Vector3 b = Vector3.FromSpherical(Angle.FromDegrees(123), Angle.FromDegrees(-77));
            Assert.InRange(Math.Acos(Math.Min(1, a.Dot(b))) * 180 / Math.PI, 0, 5.0001);
        }
    }

    [Fact]
    public void Cloud_takes_its_share_of_a_star()
    {
        Scene clear = WithStar(StarfieldReference.Scene() with { Mount = _perfect }, 7);
        Scene cloudy = clear with { Disturbances = new Disturbances { Cloud = t => t < 15 ? 1 : 0.2 } };
        RenderedFrame frame = new FrameRenderer(cloudy).Render(0, 0, 30);
        double full = new FrameRenderer(clear).Render(0, 0, 30).Truth[0].Electrons;
        Assert.Equal(0.6, frame.Truth[0].Electrons / full, 6);
        Assert.InRange(Measure(frame, frame.Truth[0].Mean, 8).Electrons / full, 0.57, 0.63);
        Scene overcast = clear with { Disturbances = new Disturbances { Cloud = _ => 0 } };
        Assert.Empty(new FrameRenderer(overcast).Render(0, 0, 30).Truth);
    }

    [Fact]
    public void A_bump_moves_the_stars_by_its_angle_and_stays()
    {
        // South on the meridian with north up: north up by T pitches a camera that looks south down by T, so the star
        // rises by T; azimuth clockwise by A moves it left by A cos(its altitude in the risen place).
        Scene calm = WithStar(StarfieldReference.Scene(1200, 800) with
        {
            Mount = _perfect,
            Pointing = Pointing.AtHourAngle(0, 10),
        }, 5);
        Scene bumped = calm with
        {
            Disturbances = new Disturbances { Bumps = new[] { new TripodBump(2, 6, 9) } },
        };
        var renderer = new FrameRenderer(bumped);
        PixelPoint before = renderer.Render(0, 0.5, 1).Truth[0].Mean, after = renderer.Render(1, 2.5, 1).Truth[0].Mean;
        double scale = calm.ScaleArcsecPerPx(0), altitude = (90 - 47 + 10 + (9 / 60.0)) * Math.PI / 180;
        Assert.InRange((after.X - before.X) * scale / 60, (-6 * Math.Cos(altitude)) - 0.005,
            (-6 * Math.Cos(altitude)) + 0.005);
        Assert.InRange((before.Y - after.Y) * scale / 60, 9 - 0.01, 9 + 0.01);

        // Within an exposure the jump is exact: 60 % of the light before it, 40 % after.
        PixelPoint split = renderer.Render(2, 1.4, 1).Truth[0].Mean;
        Assert.InRange((split.Y - before.Y) / (after.Y - before.Y), 0.399, 0.401);
    }

    [Fact]
    public void Another_lens_changes_the_scale_and_a_plane_leaves_its_light()
    {
        Scene scene = WithStar(StarfieldReference.Scene() with { Mount = _perfect }, 6, 0.5);
        scene = scene with
        {
            Disturbances = new Disturbances
            {
                LensChanges = new[] { new LensChange(50, new Lens(85, 2.8)) },
                Planes = new[] { new PlaneTrail(10, 14, -50, 100, 650, 100, 400) },
            },
        };
        var renderer = new FrameRenderer(scene);
        RenderedFrame first = renderer.Render(0, 0, 30), second = renderer.Render(1, 60, 30);
        double centre = (scene.Sensor.WidthPx - 1) / 2.0;
        Assert.Equal(1.7, (second.Truth[0].Mean.X - centre) / (first.Truth[0].Mean.X - centre), 4);
        // A column of the picture across the plane's way holds what it leaves per pixel.
        double[] columns = Enumerable.Range(40, 200).Select(x => Enumerable.Range(90, 21).Sum(y =>
            ((first.Pixels.Span[(y * 600) + x] - 256) * 2) - first.BackgroundElectrons)).ToArray();
        double error = 5 * Math.Sqrt((400 + (21 * (first.BackgroundElectrons + 9))) / columns.Length);
        Assert.InRange(columns.Average(), 400 - error, 400 + error);
    }

    [Fact]
    public void Hot_pixels_stay_in_their_places_and_a_bright_star_fills_its_wells()
    {
        Scene scene = StarfieldReference.Scene();
        scene = WithStar(scene with
        {
            Mount = _perfect,
            Sensor = scene.Sensor with { HotPixelShare = 1e-4, HotPixelMeanElectronsPerSec = 400 },
        }, 1);
        var renderer = new FrameRenderer(scene);
        RenderedFrame a = renderer.Render(0, 0, 30), b = renderer.Render(1, 40, 30);
        Assert.True(a.Truth[0].Saturated);
        Assert.InRange(a.Pixels.Span[(200 * 600) + 300], (30000 / 2) + 256 - 10, (30000 / 2) + 256 + 10);
        int[] Hot(RenderedFrame f) =>
            Enumerable.Range(0, 180 * 600).Where(i => f.Pixels.Span[i] > 256 + 1000).ToArray();
        Assert.InRange(Hot(a).Length, 2, 40);
        Assert.True(Hot(a).Intersect(Hot(b)).Count() >= Hot(a).Length - 1);
    }

    /// <summary>Vector algebra is shared; the physics of the simulated sky is its own.</summary>
    [Fact]
    public void Of_the_project_it_refers_to_numerics_only() =>
        Assert.Equal(["Hourhinge.Numerics"], typeof(Scene).Assembly.GetReferencedAssemblies()
            .Select(a => a.Name!).Where(name => name.StartsWith("Hourhinge", StringComparison.Ordinal)));
}
