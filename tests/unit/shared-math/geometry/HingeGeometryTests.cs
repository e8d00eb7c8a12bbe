using Hourhinge.Rehearsal.Mechanisms;
using Hourhinge.SharedMath.Geometry;

namespace Hourhinge.Tests.SharedMath.Geometry;

/// <summary>Every hinge form against the linkage solved in Cartesian coordinates, and against textbook laws.</summary>
public class HingeGeometryTests
{
    /// <summary>a, b, rho of swivelled rods: a = b, a and b apart either way, straight, ideal bend, hand-made
    /// bends.</summary>
    public static TheoryData<double, double, double> Swivelled => new()
    {
        { 290.27, 290.27, 0 },
        { 180, 240, 0 },
        { 240, 180, 0 },
        { 246.5, 246.5, 246.5 },
        { 246.5, 246.5, 259 },
        { 246.5, 246.5, 232 },
        { 200, 230, 215 },
        { 230, 200, 300 },
    };

    /// <summary>R, d, r of fixed rods: no offset, offsets of both signs, with and without a round tip.</summary>
    public static TheoryData<double, double, double> Fixed => new()
    {
        { 181.42, 0, 0 },
        { 246.5, 12, 0 },
        { 246.5, -12, 0 },
        { 246.5, 8, 3 },
        { 246.5, -8, 3 },
        { 246.5, -3, 3 },
    };

    [Theory]
    [MemberData(nameof(Swivelled))]
    public void Swivelled_rod_is_the_solved_linkage_over_its_legal_range(double a, double b, double rho) =>
        CheckAll(new SwivelledRodHinge(a, b, rho), new SwivelledLinkage(a, b, rho));

    [Theory]
    [MemberData(nameof(Fixed))]
    public void Fixed_rod_is_the_solved_linkage_over_its_legal_range(double radius, double offset, double tip) =>
        CheckAll(new FixedRodHinge(radius, offset, tip), new TipLinkage(radius, offset, tip));

    [Fact]
    public void An_ideally_bent_rod_turns_at_a_constant_rate()
    {
        SwivelledRodHinge hinge = new(246.5, 246.5, 246.5);
        foreach (double angle in Angles(hinge, 50))
        {
            Assert.Equal(246.5 * angle, hinge.RodLengthMm(angle), 9);
            Assert.Equal(246.5, hinge.RodSlopeMmPerRad(angle), 9);
        }
    }

    // Closed forms, computed apart: tangent θ − atan θ, isosceles θ − 2 asin(θ/2), θ the angle turned since square.
    [Theory]
    [InlineData(60, 1195, 157, 0.5)]
    [InlineData(10, 5.75, 0.72, 0.005)]
    public void Uncorrected_error_is_the_textbook_figure(double minutes, double tangentArcsec, double isoscelesArcsec,
        double within)
    {
        double turned = SkyRate.SiderealRadPerSec * 60 * minutes;
        Assert.Equal(-tangentArcsec,
            AngleUnits.ToArcsec(new FixedRodHinge(246.5, 0, 0).UncorrectedErrorRad(0, turned)), within);
        // Hinge minus sky: the tangent form falls behind, the isosceles form runs ahead.
        Assert.Equal(isoscelesArcsec,
            AngleUnits.ToArcsec(new SwivelledRodHinge(290, 290, 0).UncorrectedErrorRad(0, turned)), within);
        Assert.Equal(AngleUnits.ToArcsec(turned - Math.Atan(turned)), tangentArcsec, within);
        Assert.Equal(AngleUnits.ToArcsec((2 * Math.Asin(turned / 2)) - turned), isoscelesArcsec, within);
    }

    // Abramowitz and Stegun 4.4.42 and 4.4.40: first terms θ³/3 lag and θ³/24 lead.
    [Fact]
    public void Uncorrected_error_follows_the_series_laws()
    {
        for (double turned = 0.005; turned < 0.1; turned += 0.005)
        {
            double cube = turned * turned * turned;
            double tangent = new FixedRodHinge(200, 0, 0).UncorrectedErrorRad(0, turned);
            double isosceles = new SwivelledRodHinge(200, 200, 0).UncorrectedErrorRad(0, turned);
            Assert.Equal(1, -tangent / (cube / 3), 0.7 * turned * turned);
            Assert.Equal(1, isosceles / (cube / 24), 0.2 * turned * turned);
        }
    }

    // s = Rθ − k θ²/2 + ..., k = d + r, gives an error of (k/R) θ²/2 before the cubic.
    [Theory]
    [InlineData(10)]
    [InlineData(-10)]
    public void An_offset_of_the_riding_surface_adds_its_square_law(double offset)
    {
        const double Turned = 0.01;
        double error = new FixedRodHinge(200, offset, 0).UncorrectedErrorRad(0, Turned);
        Assert.Equal(1, error / (offset / 200 * Turned * Turned / 2), 0.15);
    }

    [Theory]
    [MemberData(nameof(Swivelled))]
    public void Swivelled_rod_has_no_angle_for_a_rod_beyond_its_range(double a, double b, double rho) =>
        CheckEdges(new SwivelledRodHinge(a, b, rho));

    [Theory]
    [MemberData(nameof(Fixed))]
    public void Fixed_rod_has_no_angle_for_a_rod_beyond_its_range(double radius, double offset, double tip) =>
        CheckEdges(new FixedRodHinge(radius, offset, tip));

    [Theory]
    [InlineData(290, 290, 0)]
    [InlineData(180, 240, 0)]
    public void The_lever_at_the_edge_of_the_range_is_a_tenth_of_the_shorter_arm(double a, double b, double rho)
    {
        SwivelledRodHinge hinge = new(a, b, rho);
        Assert.Equal(0.1 * Math.Min(a, b), hinge.RodSlopeMmPerRad(hinge.MaxAngleRad), 1e-6);
        if (a != b)
        {
            Assert.Equal(0.1 * Math.Min(a, b), hinge.RodSlopeMmPerRad(hinge.MinAngleRad), 1e-6);
        }
    }

    private static void CheckAll(HingeGeometry hinge, Linkage linkage)
    {
        Assert.True(hinge.MaxAngleRad > hinge.MinAngleRad + 0.3, "the legal range is too small to check anything");
        double previous = double.MinValue;
        foreach (double angle in Angles(hinge, 200))
        {
            double rod = hinge.RodLengthMm(angle);
            Assert.True(rod > previous, $"the rod does not grow at {angle} rad");
            previous = rod;
            Assert.Equal(angle, hinge.AngleRad(rod), 1e-9);

            // The solver's own accuracy shrinks where the lever does (1e-14 of its argument over lever/arm).
            Assert.Equal(0, AngleUnits.ToArcsec(linkage.AngleRad(rod) - angle), 0.001);

            // Central difference; its own error is H²/6 of the third derivative.
            const double H = 1e-5;
            double inside = Math.Clamp(angle, hinge.MinAngleRad + (2 * H), hinge.MaxAngleRad - (2 * H));
            double numeric = (hinge.RodLengthMm(inside + H) - hinge.RodLengthMm(inside - H)) / (2 * H);
            Assert.Equal(1, hinge.RodSlopeMmPerRad(inside) / numeric, 1e-5);
        }
    }

    private static void CheckEdges(HingeGeometry hinge)
    {
        Assert.True(hinge.Allows(hinge.MinAngleRad) && hinge.Allows(hinge.MaxAngleRad));
        Assert.False(hinge.Allows(hinge.MinAngleRad - 1e-6) || hinge.Allows(hinge.MaxAngleRad + 1e-6));
        Assert.Equal(hinge.MaxAngleRad, hinge.AngleRad(hinge.RodLengthMm(hinge.MaxAngleRad) - 1e-9), 1e-6);
        Assert.True(double.IsNaN(hinge.AngleRad(hinge.RodLengthMm(hinge.MaxAngleRad) + 0.1)));
        Assert.True(double.IsNaN(hinge.AngleRad(hinge.RodLengthMm(hinge.MinAngleRad) - 0.1)));
        Assert.True(double.IsNaN(hinge.AngleRad(1e9)));
    }

    // From a hair above the least angle, where a = b has no rod at all.
    private static IEnumerable<double> Angles(HingeGeometry hinge, int count) =>
        Enumerable.Range(0, count + 1).Select(i =>
            hinge.MinAngleRad + 1e-3 + ((hinge.MaxAngleRad - hinge.MinAngleRad - 2e-3) * i / count));
}
