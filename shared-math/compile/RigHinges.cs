// From a rig's parameters to its hinge form.

using System;
using Hourhinge.SharedMath.Geometry;
using Hourhinge.SharedMath.Rig;

namespace Hourhinge.SharedMath.Compile;

/// <summary>Checks the numbers of a hinge and builds it.</summary>
public static class RigHinges
{
    // A double arm must open at least so far; less is a mistake in the numbers.
    private const double MinRangeDeg = 1;

    /// <summary>True for the forms whose rod is clamped square to one board.</summary>
    public static bool HasFixedRod(long form) => form == RigParameters.FixedRod
        || form == RigParameters.DriveTipFixed || form == RigParameters.CameraTipFixed;

    /// <summary>True for the forms with a driving arm of its own.</summary>
    public static bool HasSecondArm(long form) => form >= RigParameters.DriveTipStraight;

    /// <summary>Null when the hinge's numbers fit together; otherwise one sentence.</summary>
    public static string Check(RigParameters rig) => CheckFixedRod(rig) ?? CheckSecondArm(rig);

    /// <summary>The same for the offsets of a fixed rod alone.</summary>
    public static string CheckFixedRod(RigParameters rig)
    {
        double offset = rig.InUnits(RigParameters.SurfaceOffset) + rig.InUnits(RigParameters.TipRadius);
        if (!HasFixedRod(rig.Values[RigParameters.Form])
            || Math.Abs(offset) < rig.InUnits(RigParameters.Radius) / 2)
        {
            return null;
        }

        return "surface offset and tip radius together must stay within half the hinge radius, -"
            + RigParameters.Format(rig.Values[RigParameters.Radius] / 2, 6) + " to "
            + RigParameters.Format(rig.Values[RigParameters.Radius] / 2, 6) + " mm";
    }

    /// <summary>The same for the contact of a double arm alone; the rod's numbers are in order.</summary>
    public static string CheckSecondArm(RigParameters rig)
    {
        if (!HasSecondArm(rig.Values[RigParameters.Form]))
        {
            return null;
        }

        HingeGeometry hinge = Build(rig);
        return AngleUnits.FromDeg(MinRangeDeg) <= hinge.MaxAngleRad - hinge.MinAngleRad
            ? null
            : "the arms do not meet properly over as much as 1 degree: with these numbers the tip is nearer than a "
                + "tenth of hinge.contact_arm_mm to the other arm's hinge, or the arms are more than 60 degrees apart. "
                + "Check hinge.contact_arm_mm, hinge.hinge_distance_mm (negative: the driving hinge is behind the "
                + "camera's) and the offsets";
    }

    /// <summary>The hinge of a rig whose parameters are in range and pass <see cref="Check"/>.</summary>
    public static HingeGeometry Build(RigParameters rig)
    {
        long form = rig.Values[RigParameters.Form];
        HingeGeometry rod =
            HasFixedRod(form) ? (HingeGeometry)FixedRod(rig) : SwivelledRod(rig, form == RigParameters.BentRod);
        return HasSecondArm(form)
            ? new DoubleArmHinge(
                rod,
                form == RigParameters.CameraTipStraight || form == RigParameters.CameraTipFixed,
                rig.InUnits(RigParameters.ContactArm),
                rig.InUnits(RigParameters.HingeDistance),
                rig.InUnits(RigParameters.HingeHeight),
                rig.InUnits(RigParameters.ContactOffset))
            : rod;
    }

    private static FixedRodHinge FixedRod(RigParameters rig) =>
        new FixedRodHinge(
            rig.InUnits(RigParameters.Radius),
            rig.InUnits(RigParameters.SurfaceOffset),
            rig.InUnits(RigParameters.TipRadius));

    private static SwivelledRodHinge SwivelledRod(RigParameters rig, bool isBent) =>
        new SwivelledRodHinge(
            rig.InUnits(RigParameters.NutArm),
            rig.InUnits(RigParameters.AnchorArm),
            isBent ? rig.InUnits(RigParameters.BendRadius) : 0);
}
