using Hourhinge.Rehearsal.Mechanisms;
using Hourhinge.SharedMath.Compile;
using Hourhinge.SharedMath.Geometry;
using Hourhinge.SharedMath.Rig;
using Xunit.Abstractions;

namespace Hourhinge.Tests.SharedMath.Geometry;

/// <summary>Double arms against the linkage solved from points in the plane, and against their series.</summary>
public class DoubleArmHingeTests(ITestOutputHelper output)
{
    private const int Rigs = 1000;
    private const int Openings = 12;

    [Fact]
    public void Closed_form_is_the_solved_linkage_on_a_thousand_random_rigs()
    {
        double worst = 0;
        double worstSlope = 0;
        for (int seed = 0; seed < Rigs; seed++)
        {
            DoubleArmHinge hinge = DoubleArms.Random(new Random(seed));
            Linkage linkage = Linkage.Of(hinge, 1, 1);
            double previous = double.MinValue;
            for (int i = 0; i <= Openings; i++)
            {
                // A hair inside: where the arms of a rod coincide it has no direction.
                double angle = hinge.MinAngleRad + 1e-3
                    + ((hinge.MaxAngleRad - hinge.MinAngleRad - 2e-3) * i / Openings);
                double rod = hinge.RodLengthMm(angle);
                Assert.True(rod > previous, $"rig {seed}: the rod does not grow at {angle} rad");
                previous = rod;
                Assert.Equal(angle, hinge.AngleRad(rod), 1e-9);
                worst = Math.Max(worst, Math.Abs(linkage.AngleRad(rod) - angle));

                const double H = 1e-5;
                double inside = Math.Clamp(angle, hinge.MinAngleRad + (2 * H), hinge.MaxAngleRad - (2 * H));
                double numeric = (hinge.RodLengthMm(inside + H) - hinge.RodLengthMm(inside - H)) / (2 * H);
                worstSlope = Math.Max(worstSlope, Math.Abs((hinge.RodSlopeMmPerRad(inside) / numeric) - 1));
            }
        }

        output.WriteLine($"{Rigs} rigs: closed form - linkage at most {worst:E1} rad; slope {worstSlope:E1} of itself");
        Assert.InRange(worst, 0, 1e-9);
        Assert.InRange(worstSlope, 0, 1e-5);
    }

    [Fact]
    public void A_rod_beyond_the_range_has_no_angle()
    {
        for (int seed = 0; seed < 100; seed++)
        {
            DoubleArmHinge hinge = DoubleArms.Random(new Random(seed));
            Assert.True(hinge.Allows(hinge.MinAngleRad) && hinge.Allows(hinge.MaxAngleRad));
            Assert.Equal(hinge.MaxAngleRad, hinge.AngleRad(hinge.RodLengthMm(hinge.MaxAngleRad) - 1e-9), 1e-6);
            Assert.True(double.IsNaN(hinge.AngleRad(hinge.RodLengthMm(hinge.MaxAngleRad) + 0.1)), $"{seed}");
            Assert.True(double.IsNaN(hinge.AngleRad(hinge.RodLengthMm(hinge.MinAngleRad) - 0.1)), $"{seed}");
            Assert.True(double.IsNaN(hinge.AngleRad(1e9)));
        }
    }

    // The error of a constant drive from closed grows with the fifth power of time at the best ratio, with the third
    // away from it. Ratios and the coefficient by the series in DoubleArmHinge.cs, confirmed to 40 digits with mpmath.
    [Theory]
    [InlineData(true, false, -0.5, 5)]
    [InlineData(true, true, -2.0, 5)]
    [InlineData(false, false, 2.154700538379252, 5)]
    [InlineData(true, false, -0.6, 3)]
    [InlineData(true, true, -1.5, 3)]
    [InlineData(false, false, 2, 3)]
    [InlineData(false, true, 0.5, 3)]
    public void Error_of_the_best_ratio_is_of_fifth_order(bool isTipOnCameraArm, bool isFixedRod, double ratio,
        int order)
    {
        DoubleArmHinge hinge = Square(isTipOnCameraArm, isFixedRod, ratio);
        double half = Math.Abs(hinge.UncorrectedErrorRad(0, 0.05));
        double full = Math.Abs(hinge.UncorrectedErrorRad(0, 0.1));
        Assert.Equal(order, Math.Log2(full / half), 0.25);
    }

    [Fact]
    public void An_hour_from_closed_costs_a_sixth_of_an_arcsecond_at_the_best_ratio()
    {
        double turned = SkyRate.SiderealRadPerSec * 3600;
        double best = Square(true, false, -0.5).UncorrectedErrorRad(0, turned);
        Assert.Equal(-0.1592, AngleUnits.ToArcsec(best), 5e-4); // mpmath, 40 digits
        Assert.Equal(-Math.Pow(turned, 5) / 320 * Math.Pow(2.0 / 3, 4), best, 0.01 * Math.Abs(best));

        // Type 4 of the double arm, contact arm / hinge distance = 2.186 (Sky and Telescope, February 1988, from
        // memory): made for two hours, at whose end the error crosses zero.
        DoubleArmHinge published = Square(true, false, -1 / 2.186);
        Assert.Equal(0, AngleUnits.ToArcsec(published.UncorrectedErrorRad(0, 2 * turned)), 0.02);
        Assert.InRange(AngleUnits.ToArcsec(published.UncorrectedErrorRad(0, turned)), 0.3, 0.5);
        Assert.InRange(AngleUnits.ToArcsec(published.UncorrectedErrorRad(0, 1.1 * 2 * turned)), -10, -1);
    }

    [Fact]
    public void Arms_that_do_not_meet_are_refused()
    {
        RigParameters rig = new();
        rig.Values[RigParameters.Form] = RigParameters.CameraTipStraight;
        Assert.Null(RigHinges.Check(rig));
        rig.Set(RigParameters.HingeDistance, 250); // the driving hinge is beyond the tip
        Assert.Contains("hinge.hinge_distance_mm", RigHinges.Check(rig), StringComparison.Ordinal);
        Assert.Contains("hinge.hinge_distance_mm", Compiled(rig).Error, StringComparison.Ordinal);
        rig.Set(RigParameters.HingeDistance, -100);
        rig.Set(RigParameters.HingeHeight, 400);
        Assert.Contains("hinge.contact_arm_mm", RigHinges.Check(rig), StringComparison.Ordinal);
    }

    [Theory]
    [InlineData(RigParameters.DriveTipStraight)]
    [InlineData(RigParameters.DriveTipFixed)]
    [InlineData(RigParameters.CameraTipStraight)]
    [InlineData(RigParameters.CameraTipFixed)]
    public void The_profile_is_within_a_hundredth_of_a_step(int form)
    {
        RigParameters rig = new();
        rig.Values[RigParameters.Form] = form;
        rig.Values[RigParameters.Microsteps] = 64;
        rig.Values[RigParameters.PullIn] = 20000;
        RigCompiler compiler = Compiled(rig);
        Assert.Null(compiler.Error);
        output.WriteLine($"form {form}: {compiler.ErrorBoundCounts:0.0000} step, "
            + $"{compiler.Design.TravelSec / 60:0} min");
        Assert.InRange(compiler.ErrorBoundCounts, 0, 0.01);
    }

    private static RigCompiler Compiled(RigParameters rig)
    {
        RigCompiler compiler = new();
        compiler.Compile(rig, null);
        return compiler;
    }

    private static DoubleArmHinge Square(bool isTipOnCameraArm, bool isFixedRod, double ratio) =>
        new(isFixedRod ? new FixedRodHinge(200, 0, 0) : new SwivelledRodHinge(200, 200, 0), isTipOnCameraArm, 150,
            ratio * 150, 0, 0);
}
