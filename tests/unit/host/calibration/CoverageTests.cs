using Hourhinge.Calibration.Rod;
using Hourhinge.Calibration.Turns;
using Hourhinge.Rehearsal.Mechanisms;
using Hourhinge.Rig;
using Hourhinge.SharedMath.Geometry;
using MathNet.Numerics.Distributions;
using Xunit.Abstractions;

namespace Hourhinge.Tests.Host.Calibration;

/// <summary>
/// Seeded trials with noise: the 95 % intervals contain the truth in a share that is consistent with 95 % (exact
/// two-sided binomial test, p &gt; 0.01), and good readings are seldom rejected. HOURHINGE_COVERAGE sets the number of
/// trials: 40 by default, 300 for the full campaign (then 275 to 294 of 300 must contain the truth).
/// </summary>
public class CoverageTests(ITestOutputHelper output)
{
    private static int Trials => Campaign.Trials(40);

    [Fact]
    public void Turns()
    {
        RigDescription rig = Synthetic.Rig("bent-m6-geared");
        double file = rig.MotorTurnsPerNutTurn.Ratio * 64;
        var random = new Random(41);
        int hits = 0, trusted = 0;
        for (int k = 0; k < Trials; k++)
        {
            double truth = 1 + Synthetic.Normal(random, 0.003);
            TurnsResult r = TurnsCalibration.Fit(rig, Synthetic.Turns(file * truth, 300, 20, 0.2, random),
                s => s * 300 / file, 0.2);
            hits += Math.Abs(r.Ratio - truth) <= r.T95 * r.RatioSigma ? 1 : 0;
            trusted += r.Assessment.IsTrusted ? 1 : 0;
        }

        Consistent("ratio", hits);
        Seldom(trusted);
    }

    // Arms that differ by design, a wide range: everything can be told.
    [Fact]
    public void Straight_rod_with_unequal_arms()
    {
        RigDescription rig = Synthetic.Rig("straight-quarter-twenty",
            ("nut_arm_mm = 290.3 ", "nut_arm_mm = 200.0 "), ("longest_mm = 150.0", "longest_mm = 300.0"),
            ("shortest_mm = 20.0", "shortest_mm = 115.0"));
        var random = new Random(42);
        int mean = 0, difference = 0, zero = 0, trusted = 0;
        for (int k = 0; k < Trials; k++)
        {
            double a = 200 + Synthetic.Normal(random, 1.5);
            double b = 290.3 + Synthetic.Normal(random, 1.5);
            double z = Synthetic.Normal(random, 0.5);
            RodResult r = RodCalibration.Fit(rig, Synthetic.Rod(new SwivelledLinkage(a, b, 0),
                Synthetic.Spread(118, 300, 16), z, 0.03, random, 0.03), 0.001);
            Assert.DoesNotContain(r.Estimates, e => e.IsHeld);
            mean += Hit(r, 0, (a + b) / 2);
            difference += Hit(r, 1, a - b);
            zero += Hit(r, 2, AngleUnits.FromDeg(z));
            trusted += r.Assessment.IsTrusted ? 1 : 0;
        }

        Consistent("mean arm", mean);
        Consistent("arm difference", difference);
        Consistent("zero", zero);
        Seldom(trusted);
    }

    [Fact]
    public void Straight_rod_with_equal_arms_tells_their_mean()
    {
        RigDescription rig = Synthetic.Rig("straight-quarter-twenty");
        var random = new Random(43);
        int mean = 0, zero = 0, trusted = 0;
        for (int k = 0; k < Trials; k++)
        {
            double a = 290.3 + Synthetic.Normal(random, 2);
            double z = Synthetic.Normal(random, 0.5);
            RodResult r = RodCalibration.Fit(rig, Synthetic.Rod(new SwivelledLinkage(a, a, 0),
                Synthetic.Spread(25, 150, 14), z, 0.03, random, 0.03), 0.001);
            Assert.True(r.Estimates[1].IsHeld,
                string.Join("; ", r.Estimates.Select(e => $"{e.Value} ± {e.Sigma} {e.IsHeld}").Concat(r.Undetermined)));
            mean += Hit(r, 0, a);
            zero += Hit(r, 2, AngleUnits.FromDeg(z));
            trusted += r.Assessment.IsTrusted ? 1 : 0;
        }

        Consistent("mean arm", mean);
        Consistent("zero", zero);
        Seldom(trusted);
    }

    // What is held is as uncertain as a ruler leaves it, and that is carried into the intervals of the rest.
    [Fact]
    public void Bent_rod_with_the_bend_held_carries_the_bends_uncertainty()
    {
        RigDescription rig = Synthetic.Rig("bent-m6-geared");
        var random = new Random(44);
        int mean = 0, trusted = 0;
        for (int k = 0; k < Trials; k++)
        {
            double a = 246 + Synthetic.Normal(random, 1.5);
            double bend = 246 * (1 + Synthetic.Normal(random, 0.03));
            RodResult r = RodCalibration.Fit(rig, Synthetic.Rod(new SwivelledLinkage(a, a, bend),
                Synthetic.Spread(20, 125, 14), 0.2, 0.03, random, 0.03), 0.001);
            Assert.True(r.Estimates[2].IsHeld);
            mean += Hit(r, 0, a);
            trusted += r.Assessment.IsTrusted ? 1 : 0;
        }

        output.WriteLine($"mean arm: {mean} of {Trials}");
        // Student's t on a mostly known variance errs on the safe side.
        Assert.True(Binomial.CDF(0.95, Trials, mean) > 0.005, $"{mean} of {Trials}");
        Seldom(trusted);
    }

    [Fact]
    public void Fixed_rod()
    {
        RigDescription rig = Synthetic.Rig("fixed-rod-offset", ("longest_mm = 95.0", "longest_mm = 200.0"));
        var random = new Random(45);
        int radius = 0, offset = 0, zero = 0, trusted = 0;
        for (int k = 0; k < Trials; k++)
        {
            double built = 229.2 + Synthetic.Normal(random, 2);
            double d = 4.5 + Synthetic.Normal(random, 1);
            double z = Synthetic.Normal(random, 0.5);
            RodResult r = RodCalibration.Fit(rig,
                Synthetic.Rod(new TipLinkage(built, d, 3), Synthetic.Spread(3, 200, 24), z, 0.01, random, 0.01), 0.001);
            Assert.DoesNotContain(r.Estimates, e => e.IsHeld);
            radius += Hit(r, 0, built);
            offset += Hit(r, 1, d);
            zero += Hit(r, 2, AngleUnits.FromDeg(z));
            trusted += r.Assessment.IsTrusted ? 1 : 0;
        }

        Consistent("radius", radius);
        Consistent("offset", offset);
        Consistent("zero", zero);
        Seldom(trusted);
    }

    // One reading in fourteen wrong by a degree: named in every trial, and the intervals still hold.
    [Fact]
    public void Rod_with_a_wrong_reading()
    {
        RigDescription rig = Synthetic.Rig("straight-quarter-twenty");
        var random = new Random(46);
        int mean = 0, named = 0;
        for (int k = 0; k < Trials; k++)
        {
            double a = 290.3 + Synthetic.Normal(random, 2);
            RodReading[] readings =
                Synthetic.Rod(new SwivelledLinkage(a, a, 0), Synthetic.Spread(25, 150, 14), 0.3, 0.05, random, 0.05);
            int wrong = random.Next(14);
            readings[wrong] = readings[wrong] with
            {
                AngleRad = readings[wrong].AngleRad
                + AngleUnits.FromDeg(random.Next(2) == 0 ? 1 : -1)
            };
            RodResult r = RodCalibration.Fit(rig, readings, 0.001);
            named += r.IsOutlier.Count(o => o) == 1 && r.IsOutlier[wrong] ? 1 : 0;
            mean += Hit(r, 0, a);
        }

        output.WriteLine($"named alone in {named} of {Trials}");
        Assert.InRange(named, Math.Floor(0.983 * Trials), Trials);
        Consistent("mean arm", mean);
    }

    private static int Hit(RodResult r, int i, double truth) =>
        Math.Abs(r.Estimates[i].Value - truth) <= r.T95 * r.Estimates[i].Sigma ? 1 : 0;

    private void Consistent(string what, int hits)
    {
        double p = Campaign.Chance(hits, Trials);
        output.WriteLine($"{what}: {hits} of {Trials} within 95 %, p = {p:F3}");
        Assert.True(p > 0.01, $"{what}: {hits} of {Trials}, p = {p}");
    }

    private void Seldom(int trusted)
    {
        output.WriteLine($"trusted: {trusted} of {Trials}");
        // One good measurement in fifty is rejected by the test of runs; a binomial allowance for the few trials.
        Assert.InRange(trusted, (0.98 * Trials) - (3 * Math.Sqrt(0.02 * Trials)), Trials);
    }
}
