// The parameters of a hinge form that a measurement can find, and how well a ruler knows them already.

using Hourhinge.SharedMath.Geometry;

namespace Hourhinge.Calibration.Rod;

/// <summary>A parameter: name in words, unit, value by the rig file, and the standard error of a drawn or ruled
/// value.</summary>
public sealed record RodParameter(string Name, string Unit, double FileValue, double DrawnSigma);

/// <summary>
/// A hinge as a vector of parameters, the last of which is the zero error of the angle reading, radians.
/// Swivelled rods take the mean and the difference of the two arms: a and b can be exchanged without changing
/// anything, so near a = b their mean is what data can tell.
/// </summary>
public sealed class RodModel
{
    private readonly Func<double[], HingeGeometry?> _build;

    private RodModel(IReadOnlyList<RodParameter> parameters, Func<double[], HingeGeometry?> build)
    {
        Parameters = parameters;
        _build = build;
    }

    /// <summary>The parameters; the reading's zero error comes last.</summary>
    public IReadOnlyList<RodParameter> Parameters { get; }

    /// <summary>Where the difference of the arms stands among the parameters; -1 for a form without.</summary>
    public int Difference { get; private init; } = -1;

    /// <summary>The hinge of a parameter vector; null where there is none.</summary>
    public HingeGeometry? Build(double[] p) => _build(p);

    /// <summary>The model of a rig's hinge. A ruler is trusted to 1 % of an arm and 3 % of a bend (common practice, no
    /// source).</summary>
    public static RodModel For(HingeGeometry hinge)
    {
        var zero = new RodParameter("reading zero", "rad", 0, AngleUnits.FromDeg(1.5));
        if (hinge is FixedRodHinge f)
        {
            return new RodModel(
                [new("hinge radius", "mm", f.RadiusMm, 0.01 * f.RadiusMm),
                    new("surface offset", "mm", f.SurfaceOffsetMm, 1), zero],
                p => p[0] > 10 && Math.Abs(p[1] + f.TipRadiusMm) < p[0] / 2
                ? new FixedRodHinge(p[0], p[1], f.TipRadiusMm) : null);
        }

        var s = (SwivelledRodHinge)hinge;
        double mean = (s.NutArmMm + s.AnchorArmMm) / 2;
        var arms = new RodParameter[]
        {
            new("mean arm", "mm", mean, 0.01 * mean),
            new("arm difference", "mm", s.NutArmMm - s.AnchorArmMm, 0.01 * mean),
        };
        var bend = new RodParameter("bend radius", "mm", s.BendRadiusMm, 0.03 * s.BendRadiusMm);
        bool bent = s.BendRadiusMm != 0;
        return new RodModel(
            bent ? [.. arms, bend, zero] : [.. arms, zero],
            p => p[0] - Math.Abs(p[1] / 2) > 5 && (!bent || p[2] > 10)
                ? new SwivelledRodHinge(p[0] + (p[1] / 2), p[0] - (p[1] / 2), bent ? p[2] : 0)
                : null)
        { Difference = 1 };
    }
}
