using Hourhinge.SharedMath.Geometry;
using MathNet.Numerics.RootFinding;

namespace Hourhinge.Rehearsal.Mechanisms;

/// <summary>
/// A hinge as points in the plane: hinge axis at the origin, the fixed board along x. The opening for a rod length is
/// found by root finding on the positions of these points, not by the closed forms in shared-math, so that an error
/// in those shows. Lengths in mm, angles in radians.
/// </summary>
public abstract class Linkage
{
    private const double Accuracy = 1e-14;

    /// <summary>The linkage of a form's dimensions, with the rod's arms and bend scaled.</summary>
    public static Linkage Of(HingeGeometry hinge, double armScale, double bendScale) => hinge switch
    {
        SwivelledRodHinge s =>
            new SwivelledLinkage(s.NutArmMm * armScale, s.AnchorArmMm * armScale, s.BendRadiusMm * bendScale),
        FixedRodHinge f => new TipLinkage(f.RadiusMm * armScale, f.SurfaceOffsetMm, f.TipRadiusMm),
        DoubleArmHinge d => new DoubleArmLinkage(
            Of(d.Drive, armScale, bendScale), d.IsTipOnCameraArm, d.ContactArmMm,
            (d.HingeDistanceMm, d.HingeHeightMm), d.ContactOffsetMm),
        _ => throw new ArgumentException("a linkage for this hinge form is not modelled", nameof(hinge)),
    };

    /// <summary>Opening angle for a length of rod between the boards.</summary>
    public abstract double AngleRad(double rodMm);

    /// <summary>The root of a function in a bracket (Brent).</summary>
    protected static double Root(Func<double, double> f, double low, double high) =>
        Brent.FindRoot(f, low, high, Accuracy, 200);
}

/// <summary>
/// A rod between two pivots: from the nut pivot (a, 0) it leaves at a heading φ, runs s millimetres straight or along
/// a circle of radius ρ, and must end at distance b from the hinge axis. φ is the unknown; the opening is the
/// direction of the far end.
/// </summary>
public sealed class SwivelledLinkage(double nutArmMm, double anchorArmMm, double bendRadiusMm) : Linkage
{
    /// <inheritdoc/>
    public override double AngleRad(double rodMm)
    {
        if (rodMm == 0)
        {
            return 0; // The pivots coincide; no direction of the rod to look for.
        }

        (double along, double across) = RodVector(rodMm);
        double Residual(double heading)
        {
            (double x, double y) = FarEnd(heading, along, across);
            return Math.Sqrt((x * x) + (y * y)) - anchorArmMm;
        }

        // Over a half turn of the chord's direction the far end sweeps from farthest to nearest the hinge axis.
        double lean = Math.Atan2(across, along);
        double heading = Root(Residual, -lean, Math.PI - lean);
        (double x, double y) = FarEnd(heading, along, across);
        return Math.Atan2(y, x);
    }

    // The rod's far end seen from its near end, in the rod's own frame: along its first direction, and across it.
    private (double Along, double Across) RodVector(double rodMm)
    {
        if (bendRadiusMm == 0)
        {
            return (rodMm, 0);
        }

        double turned = rodMm / bendRadiusMm;
        return (bendRadiusMm * Math.Sin(turned), bendRadiusMm * (1 - Math.Cos(turned)));
    }

    private (double X, double Y) FarEnd(double heading, double along, double across)
    {
        (double sin, double cos) = Math.SinCos(heading);
        return (nutArmMm + (along * cos) - (across * sin), (along * sin) + (across * cos));
    }
}

/// <summary>
/// A rod square to the fixed board at (R, 0), its round tip of radius r touching the other board's riding surface,
/// which runs at distance d below the line through the hinge axis. The opening is where the tip's ball touches.
/// </summary>
public sealed class TipLinkage(double radiusMm, double surfaceOffsetMm, double tipRadiusMm) : Linkage
{
    /// <inheritdoc/>
    public override double AngleRad(double rodMm)
    {
        double centreY = rodMm - tipRadiusMm;
        double Gap(double angle)
        {
            (double sin, double cos) = Math.SinCos(angle);
            // A point of the surface, and the distance of the ball's centre from the surface through it.
            double px = surfaceOffsetMm * sin;
            double py = -surfaceOffsetMm * cos;
            double distance = (cos * (py - centreY)) - (sin * (px - radiusMm));
            return distance - tipRadiusMm;
        }

        return Root(Gap, -Math.PI / 3, Math.PI * 0.45);
    }
}
