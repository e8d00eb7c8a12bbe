// What to cut and to buy for the mechanics, from the rig file alone.

using Hourhinge.Rig;
using Hourhinge.SharedMath.Geometry;

namespace Hourhinge.App.Sheet;

internal static class CutList
{
    private const double BoardSpareMm = 40;

    /// <summary>Number, part, size.</summary>
    public static IEnumerable<string[]> Rows(RigDescription rig, RodThread? thread)
    {
        string rod = rig.Rod.Thread.Length > 0 ? rig.Rod.Thread : $"pitch {rig.Rod.PitchMm:0.####} mm";
        double length = rig.Rod.LongestMm + (2 * RodTemplates.SpareMm);
        string spare = $"{rig.Rod.LongestMm:0.#} mm of travel and {RodTemplates.SpareMm:0} mm at each end";
        yield return ["1", $"threaded rod {rod}" + (thread == null ? "" : $", core {thread.CoreMm:0.00} mm"),
            rig.Hinge is SwivelledRodHinge { BendRadiusMm: > 0 } bent
                ? $"{length:0} mm along the curve ({spare}); bend a longer piece, and cut off what stayed straight; "
                    + $"radius {bent.BendRadiusMm:0.##} mm"
                : $"{length:0} mm ({spare})"];
        foreach (string[] row in Boards(rig.Hinge))
        {
            yield return row;
        }

        yield return ["1", "hinge as wide as the boards, or two far apart", "without play"];
        foreach (int[] pair in rig.Gear.Pairs)
        {
            yield return ["1 + 1", "wheels", $"{pair[0]} teeth on the nut's side, {pair[1]} on the motor's side"];
        }

        int switches = (rig.Switches.Home ? 1 : 0) + (rig.Switches.End ? 1 : 0);
        if (switches > 0)
        {
            yield return [$"{switches}", "limit switches", rig.Switches is { Home: true, End: true } ? "home and end"
                : rig.Switches.Home ? "home" : "end"];
        }
    }

    private static IEnumerable<string[]> Boards(HingeGeometry hinge)
    {
        switch (hinge)
        {
            case SwivelledRodHinge s:
                yield return ["1", "board with the nut's swivel", $"at least {s.NutArmMm + BoardSpareMm:0} mm from the "
                    + $"pin; hole's centre {s.NutArmMm:0.##} mm from the pin's centre"];
                yield return ["1", "board with the rod's foot",
                    $"at least {s.AnchorArmMm + BoardSpareMm:0} mm from the "
                    + $"pin; hole's centre {s.AnchorArmMm:0.##} mm from the pin's centre"];
                yield return ["2", "swivels", "free to turn about lines parallel to the pin"];
                break;
            case FixedRodHinge f:
                yield return ["1", "lower board",
                    $"at least {f.RadiusMm + BoardSpareMm:0} mm from the pin; rod's centre "
                    + $"{f.RadiusMm:0.##} mm from the pin's centre, square to the board"];
                yield return ["1", "upper board", $"at least {f.RadiusMm + BoardSpareMm:0} mm; riding plate "
                    + $"{f.SurfaceOffsetMm:0.##} mm below the pin's centre"];
                yield return ["1", "tip", f.TipRadiusMm > 0 ? $"round, radius {f.TipRadiusMm:0.##} mm" : "pointed"];
                break;
            case DoubleArmHinge d:
                foreach (string[] row in Boards(d.Drive))
                {
                    yield return [row[0], $"driving arm: {row[1]}", row[2]];
                }

                yield return ["1", d.IsTipOnCameraArm ? "camera's arm" : "tip of the driving arm",
                    $"tip, or its roller's centre, {d.ContactArmMm:0.##} mm from the pin's centre"];
                yield return ["1", "second hinge on the base", $"pin's centre {Math.Abs(d.HingeDistanceMm):0.##} mm "
                    + $"{(d.HingeDistanceMm < 0 ? "behind" : "before")} the camera's pin, toward "
                    + $"{(d.HingeDistanceMm < 0 ? "the far side" : "the arms' ends")}"];
                break;
        }
    }
}
