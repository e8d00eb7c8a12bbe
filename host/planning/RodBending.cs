// Bending a round rod over a former: the radius of the former, smaller than the wanted one because the rod springs
// back.

namespace Hourhinge.Planning;

/// <summary>A rod to be bent. Lengths in mm, stresses in MPa.</summary>
/// <param name="CoreDiameterMm">Diameter that carries the load: a thread's minor diameter.</param>
/// <param name="YieldMpa">Yield stress; plain rolled rod about 400 (common practice, no source).</param>
/// <param name="ModulusMpa">Young's modulus; steel 200 000.</param>
/// <remarks>
/// An ideally elastic, ideally plastic round bar, bent plane, without hardening. Under the bending moment M its
/// curvature is 1/r₁; released, it springs back by M/(E·I), I = π·d⁴/64. Full plasticity gives M = σ·d³/6 (plastic
/// modulus of a circle: Young and Budynas, Roark's Formulas for Stress and Strain, 7th edition, table A.1, from
/// memory), which is the formula of hardware-notes/mechanics.md; here the elastic core of half-height σ·r₁/E is
/// integrated too.
/// </remarks>
public sealed record RodBending(double CoreDiameterMm, double YieldMpa, double ModulusMpa)
{
    private const int Bisections = 200;

    private double Radius => CoreDiameterMm / 2;

    private double Stiffness => ModulusMpa * Math.PI * Math.Pow(CoreDiameterMm, 4) / 64;

    /// <summary>The rod stays elastic when bent to a larger radius than this.</summary>
    public double ElasticRadiusMm => ModulusMpa * Radius / YieldMpa;

    /// <summary>Bending moment at a radius of curvature of the centre line, N·mm.</summary>
    public double MomentNmm(double radiusMm)
    {
        double core = YieldMpa * radiusMm / ModulusMpa;
        double r = Radius;
        if (core >= r)
        {
            return Stiffness / radiusMm;
        }

        // Plastic outside the core, linear inside: integral of stress, height and width over the circle.
        double root = Math.Sqrt((r * r) - (core * core));
        double outside = 4 * YieldMpa / 3 * root * root * root;
        double inside = 4 * YieldMpa / core * ((Math.Pow(r, 4) / 8 * Math.Asin(core / r))
            - (core / 8 * ((r * r) - (2 * core * core)) * root));
        return outside + inside;
    }

    /// <summary>Radius that a rod keeps after release from a radius, both of the centre line; infinity when it stays
    /// elastic.</summary>
    public double ReleasedRadiusMm(double bentRadiusMm)
    {
        double curvature = (1 / bentRadiusMm) - (MomentNmm(bentRadiusMm) / Stiffness);
        return curvature > 1e-12 ? 1 / curvature : double.PositiveInfinity;
    }

    /// <summary>Radius to bend to, of the centre line, so that the wanted one remains.</summary>
    public double BentRadiusMm(double wantedRadiusMm)
    {
        double low = Radius;
        double high = Math.Min(wantedRadiusMm, ElasticRadiusMm);
        for (int i = 0; i < Bisections; i++)
        {
            double middle = (low + high) / 2;
            (low, high) = ReleasedRadiusMm(middle) < wantedRadiusMm ? (middle, high) : (low, middle);
        }

        return (low + high) / 2;
    }

    /// <summary>Depth of an arc below its chord.</summary>
    public static double SagittaMm(double radiusMm, double chordMm) =>
        radiusMm - Math.Sqrt((radiusMm * radiusMm) - (chordMm * chordMm / 4));
}
