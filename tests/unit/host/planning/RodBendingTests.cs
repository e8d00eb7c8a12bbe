using Hourhinge.Planning;

namespace Hourhinge.Tests.Host.Planning;

/// <summary>Spring-back of a bent rod against a numeric integral and against the limits of elementary theory.</summary>
public class RodBendingTests
{
    private static readonly RodBending _m6 = new(4.773, 400, 200000);

    // hardware-notes/mechanics.md, full plasticity: 64·σ/(6π·E·d) = 0.00142 /mm, former 182 mm for 246 mm.
    [Fact]
    public void An_M6_rod_needs_the_former_of_the_hardware_notes()
    {
        double plastic = 1 / ((1.0 / 246) + (64 * 400 / (6 * Math.PI * 200000 * 4.773)));
        Assert.Equal(182.2, plastic, 0.3);
        Assert.InRange(_m6.BentRadiusMm(246), plastic, plastic + 1);
    }

    [Theory]
    [InlineData(30)]
    [InlineData(182)]
    [InlineData(500)]
    [InlineData(1100)]
    [InlineData(3000)]
    public void The_moment_is_the_integral_of_the_stresses(double radius)
    {
        const int Slices = 400000;
        double r = 4.773 / 2, moment = 0, step = 2 * r / Slices;
        for (int i = 0; i < Slices; i++)
        {
            double y = -r + ((i + 0.5) * step);
            double stress = Math.Clamp(200000 * y / radius, -400, 400);
            moment += stress * y * 2 * Math.Sqrt((r * r) - (y * y)) * step;
        }

        Assert.Equal(1, _m6.MomentNmm(radius) / moment, 1e-6);
    }

    [Fact]
    public void Bending_and_release_are_inverse_and_an_elastic_rod_springs_back_straight()
    {
        foreach (double wanted in new[] { 60.0, 181.4, 246, 290.3, 800 })
        {
            Assert.Equal(wanted, _m6.ReleasedRadiusMm(_m6.BentRadiusMm(wanted)), wanted * 1e-9);
        }

        Assert.Equal(double.PositiveInfinity, _m6.ReleasedRadiusMm(_m6.ElasticRadiusMm * 1.01));
        // Full plasticity: the moment tends to σ·d³/6.
        Assert.Equal(400 * Math.Pow(4.773, 3) / 6, _m6.MomentNmm(1), 0.1);
    }

    // hardware-notes/mechanics.md, table of the gauge.
    [Theory]
    [InlineData(100, 5.13)]
    [InlineData(200, 21.24)]
    public void The_sagitta_is_that_of_the_hardware_notes(double chord, double depth) =>
        Assert.Equal(depth, RodBending.SagittaMm(246, chord), 0.01);
}
