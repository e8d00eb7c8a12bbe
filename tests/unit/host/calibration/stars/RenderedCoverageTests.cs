// Rendered frames of random rigs, calibrated with the intervals as stated to the user: how often do they contain the
// truth? Reduced frames (1.0 megapixels of the same pixels and lens: 24 a field instead of 40) where time demands.
// HOURHINGE_COVERAGE sets the number of trials: 4 by default, 300 for the full campaign (command in DEVELOPERS.md).
using Hourhinge.Calibration.Orientation;
using Hourhinge.Calibration.Stars;
using Hourhinge.Frames.Matching;
using Hourhinge.Numerics;
using Hourhinge.Rig;
using Hourhinge.Sky.Observing;
using Hourhinge.Starfield.Files;
using Hourhinge.Starfield.Render;
using Hourhinge.Starfield.Scenes;
using Xunit.Abstractions;

namespace Hourhinge.Tests.Host.Calibration.Stars;

public sealed class RenderedCoverageTests(ITestOutputHelper output)
{
    private const double Exposure = 20, NutTurn = 75, Omega = 7.292115e-5, Arcsec = 206264.806247;
    private const int Frames = 24, Width = 1230, Height = 820;
    private static readonly string[] _names = ["rate", "effective rate", "rate change", "axis high", "axis west",
        "both: high", "both: west", "periodic", "focal length"];

    private static readonly double _cornerSquared = ((Width * Width) + (Height * Height)) / 4.0
        * Math.Pow(3.9e-3 / 50, 2);

    /// <summary>Invented stars, the place told with its error, scale and direction from stopped frames.</summary>
    [Fact]
    public void Stated_intervals_hold_for_fields_that_are_told() => Check(false);

    /// <summary>Real stars among invented faint ones, a lens that distorts the corners by up to 2 %, no place told and
    /// no stopped frames.</summary>
    [Fact]
    public void Stated_intervals_hold_for_fields_that_are_recognised() => Check(true);

    /// <summary>210 mm on a sensor of 23 by 16 mm, exposures up to a minute, a lens that distorts the corners by up to
    /// 2 %: the focal length from three recognised frames.</summary>
    [Fact]
    public void The_focal_length_of_a_long_lens_holds_its_interval()
    {
        int trials = Campaign.Trials(1);
        var found = new Estimate[trials];
        const double Truth = 210 / 0.0052;
        Parallel.For(0, trials, new ParallelOptions { MaxDegreeOfParallelism = 2 }, k => found[k] = LongLens(k));
        int held = found.Count(f => f.Contains(Truth));
        double[] off = [.. found.Select(f => Math.Abs(f.Value - Truth)).Order()];
        double half = found.Select(f => f.Half95).Order().ElementAt(trials / 2);
        output.WriteLine($"210 mm, focal length: held {held} of {trials} (p {Campaign.Chance(held, trials):F3}); "
            + $"median error {off[trials / 2]:F2} px of {Truth:F0}, median half-width {half:F2}, worst {off[^1]:F2}");
        Assert.InRange(off[^1], 0, 2.5 * half);
        Assert.True(Campaign.Chance(held, trials) > 0.01, $"{held} of {trials}");
    }

    private static Estimate LongLens(int seed)
    {
        const int Wide = 4500, High = 3000;
        const double Pixel = 5.2e-3;
        var random = new Random(30_000 + seed);
        double Between(double a, double b) => a + (random.NextDouble() * (b - a));
        double latitude = Between(30, 55) * (random.NextDouble() < 0.25 ? -1 : 1);
        double declination = Math.Sign(latitude) * Between(-15, 60);
        double corner = ((Wide * Wide) + (High * High)) / 4.0 * Math.Pow(Pixel / 210, 2);
        double pressure = 950 * (1 + (0.08 * (random.NextDouble() - 0.5)));
        var scene = new Scene
        {
            StartUtc = new DateTime(2026, 11, 14, 20, 0, 0, DateTimeKind.Utc).AddSeconds(Between(0, 20_000)),
            Site = new SimulatedSite(latitude, 0),
            Mount = new HingeMount(t => Omega * t),
            Pointing = Pointing.AtHourAngle(Between(-40, 40), declination, Between(-180, 180)),
            Lens = new Lens(210, 4) { K1 = Between(-0.02, 0.02) / corner },
            Sensor = new Sensor(Wide, High, 1000 * Pixel),
            Stars = [],
            Refraction = new RefractionModel(pressure),
            Seed = (ulong)seed + 9,
        };
        scene = scene with
        {
            Stars = RenderedFrames.RealStars(scene, new FrameRenderer(scene).CentreRightAscensionDeg, declination,
                seed + 31_000),
        };
        RunFrame[] shots = [.. RenderedFrames.Shots(new FrameSequence(3, Between(20, 60), 10), scene, true)];
        return (RecognisedRun.Of(shots, new SiteData("", latitude, 0, 0), new Air(950, 10), null)
            ?? throw new InvalidOperationException($"trial {seed}: not recognised")).OnSensor().FocalLengthPx;
    }

    private void Check(bool recognised)
    {
        int trials = Campaign.Trials(recognised ? 2 : 1);
        var results = new (bool Held, double Error, double Half)[trials][];
        int trusted = 0;
        Parallel.For(0, trials, new ParallelOptions { MaxDegreeOfParallelism = 2 }, k =>
        {
            (results[k], bool sound) = One(k, recognised);
            Interlocked.Add(ref trusted, sound ? 1 : 0);
        });
        var bad = new List<string>();
        for (int i = 0; i < _names.Length; i++)
        {
            int held = results.Count(r => r[i].Held);
            double typical = results.Select(r => Math.Abs(r[i].Error)).Order().ElementAt(trials / 2);
            double half = results.Select(r => r[i].Half).Order().ElementAt(trials / 2);
            double chance = Campaign.Chance(held, trials);
            string missed = string.Join(", ", Enumerable.Range(0, trials).Where(k => !results[k][i].Held)
                .Select(k => $"{k}: {results[k][i].Error:F4} of {results[k][i].Half:F4}"));
            output.WriteLine(
                $"{_names[i]}: held {held} of {trials} (p {chance:F3}); median error {typical:F5}, median "
                + $"half-width {half:F5}, worst {results.Max(r => Math.Abs(r[i].Error)):F5}; missed {missed}");
            if (chance <= 0.01)
            {
                bad.Add($"{_names[i]}: {held} of {trials}");
            }
        }

        output.WriteLine($"trusted {trusted} of {trials}");
        Assert.Empty(bad);
        Assert.InRange(trusted, Math.Floor(0.9 * trials), trials);
    }

    private static ((bool Held, double Error, double Half)[] Results, bool Trusted) One(int seed, bool recognised)
    {
        var random = new Random(7000 + seed);
        double Normal(double sigma) => MathNet.Numerics.Distributions.Normal.Sample(random, 0, sigma);
        double Between(double a, double b) => a + (random.NextDouble() * (b - a));
        bool south = random.NextDouble() < 0.25;
        double latitude = Between(30, 55) * (south ? -1 : 1);
        double rate = Normal(0.006), change = Normal(1e-6), amplitude = Between(3, 15), phase = Between(0, 2 * Math.PI);
        double up = Normal(15), clockwise = Normal(15);
        double pointing = Between(0.1, 0.6);
        // Weather: the air is as dense as the host takes it to be within 4 %.
        double distortion = (new Random(50000 + seed).NextDouble() - 0.5) * 0.04;
        // The camera's clock was set to the minute.
        double clockError = MathNet.Numerics.Distributions.Normal.Sample(new Random(60000 + seed), 0, 60);
        double pressure = 950 * (1 + MathNet.Numerics.Distributions.Normal.Sample(new Random(90000 + seed), 0, 0.04));
        double Ahead(double t) => (Omega * ((rate * t) + (change * t * t / 2)))
            + (amplitude / Arcsec * Math.Sin((2 * Math.PI * t / NutTurn) + phase));
        var setting =
            new StarConditions(Angle.FromDegrees(latitude), new Air(950, 10), new Estimate(Exposure, 0, 0), NutTurn,
            Angle.FromDegrees(pointing));

        (CalibrationField Field, double Mid) Take(double hourAngleDeg, double declination, int part)
        {
            double gap = Between(22, 32), late = Between(5, 60);
            DateTime start = new DateTime(2026, 11, 14, 20, 0, 0, DateTimeKind.Utc)
                .AddSeconds((3000 * part) + random.NextDouble());
            Scene Scene(HingeMount mount, DateTime at) => new()
            {
                StartUtc = at,
                Site = new SimulatedSite(latitude, 0),
                Mount = mount,
                Pointing = Pointing.AtHourAngle(hourAngleDeg, declination, Between(-180, 180)),
                Lens = new Lens(50, 2.8) { K1 = recognised ? distortion / _cornerSquared : 0 },
                Sensor = new Sensor(Width, Height, 3.9),
                Stars = [],
                Refraction = new RefractionModel(pressure),
                Seed = (ulong)((seed * 10) + part),
            };
            Scene tracked = Scene(new HingeMount(t => (Omega * t) + Ahead(t), up, clockwise), start);
            double ra = new FrameRenderer(tracked).CentreRightAscensionDeg;
            if (recognised)
            {
                tracked = tracked with
                {
                    Stars = RenderedFrames.RealStars(tracked, ra, declination, seed + (999 * part)),
                };
                RunFrame[] shots =
                    [.. RenderedFrames.Shots(new FrameSequence(Frames, Exposure, gap, late), tracked, true, null,
                        clockError)];
                RecognisedRun found = RecognisedRun.Of(shots, new SiteData("", latitude, 0, 0), setting.Air, null)
                    ?? throw new InvalidOperationException($"trial {seed}, part {part}: not recognised");
                StoppedResult lens = found.OnSensor();
                var aligned = RunAlignment.Of(found.SkyOnly(), lens.Sky.FocalLengthPx, found.Expected);
                double firstMid = late + (Exposure / 2);
                return (CalibrationField.Of(found, lens, aligned), firstMid + ((Frames - 1) * (Exposure + gap) / 2));
            }

            double squareDegrees = Math.Pow(3.9e-3 / 50 * 57.29578, 2) * Width * Height;
            tracked = tracked with
            {
                Stars = RandomField.Create((ulong)(seed + (999 * part)), ra, declination, 6,
                RandomField.FaintestFor(220, squareDegrees))
            };
            // The camera stayed in its place while the sky was still turning by.
            Scene stopped = tracked with
            {
                Mount = new HingeMount(_ => 0, up, clockwise),
                Pointing = Pointing.AtHourAngle(hourAngleDeg, declination, tracked.Pointing.RollDeg)
            };
            Angle toldDeclination = Angle.FromDegrees(declination + Normal(pointing));
            StoppedResult sky =
                StoppedRun.Of([.. RenderedFrames.Shots(new FrameSequence(2, 30, 5), stopped, true)],
                    toldDeclination.Radians, false,
                new StoppedHints(Angle.FromDegrees(pointing).Radians))!;
            var sequence = new FrameSequence(Frames, Exposure, gap, late);
            RunAlignment run =
                RunAlignment.Of([.. RenderedFrames.Shots(sequence, tracked, true)], sky.Sky.FocalLengthPx);
            double first = late + (Exposure / 2);
            double told = hourAngleDeg
                + (((Omega * first) + (Angle.FromDegrees(Normal(pointing)).Radians
                    / Math.Cos(declination * Math.PI / 180))) * 180 / Math.PI);
            var field = new CalibrationField(run, sky, toldDeclination, Angle.FromDegrees(told));
            return (field, first + ((Frames - 1) * (Exposure + gap) / 2));
        }

        double sign = south ? -1 : 1;
        double dec1 = sign * Between(-15, 60), ha1 = Between(-40, 40);
        (CalibrationField one, double mid) = Take(ha1, dec1, 0);
        (CalibrationField two, _) = Take(ha1 > 0 ? Between(-50, -25) : Between(25, 50), sign * Between(0, 50), 1);
        StarResult single = StarCalibration.Solve([one], setting)!;
        StarResult both = StarCalibration.Solve([one, two], setting)!;

        // Truth. Clockwise is north over east, so the northern end goes east and the southern one west.
        double west = -sign * clockwise * Math.Cos((Math.Abs(latitude) + (up / 60)) * Math.PI / 180);
        double h = (ha1 * Math.PI / 180) + (Omega * mid);
        const double ToRad = Math.PI / 10800;
        // The arc from the pole to the axis: the turn of the base lowers it, too (second order).
        double northUp = sign * (up + (ToRad * west * west / 2 * Math.Tan(Math.Abs(latitude) * Math.PI / 180)));
        double toward = ((northUp * Math.Cos(h)) + (sign * west * Math.Sin(h))) * ToRad;
        double rateThen = rate + (change * mid);
        double effective = rateThen - (((up * up) + (west * west)) * ToRad * ToRad / 2)
            - ((1 + rateThen) * toward * Math.Tan(dec1 * Math.PI / 180));
        DriftResult d = single.Drive;
        // The axis is counted from the pole as seen through the air: two-term refraction as in host/starfield.
        double z = Math.Tan((Math.PI / 2) - Math.Abs(latitude * Math.PI / 180));
        double seenUp = up - (950 / 1010.0 * ((58.294 * z) - (0.0668 * z * z * z)) / 60);
        (Estimate Found, double Truth)[] pairs =
        [
            (d.RatePercent, 100 * rateThen), (d.EffectiveRatePercent, 100 * effective),
            (d.RateChangePercentPerHour, change * 360000),
            (single.Axis.HighArcmin, seenUp), (single.Axis.WestArcmin, west), (both.Axis.HighArcmin, seenUp),
            (both.Axis.WestArcmin, west),
            (d.Periodic!.AmplitudeArcsec, amplitude), (single.Sky.FocalLengthPx, 50 / 0.0039),
        ];
        return ([.. pairs.Select(p => (p.Found.Contains(p.Truth), p.Found.Value - p.Truth, p.Found.Half95))],
            both.Reasons.Count == 0);
    }
}
