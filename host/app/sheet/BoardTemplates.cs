// Hole centres of the boards, and wheels with their centre distance, in true size.

using Hourhinge.Rig;
using Hourhinge.SharedMath.Geometry;
using SkiaSharp;

namespace Hourhinge.App.Sheet;

internal static class BoardTemplates
{
    private const double EdgeMm = 10;
    private const double StripMm = 44;

    /// <summary>One strip for each board: the hinge axis at one end, the hole's centre at the other.</summary>
    public static IEnumerable<Template> Holes(RigDescription rig) => Holes(rig.Name, rig.Hinge);

    private static IEnumerable<Template> Holes(string rig, HingeGeometry hinge)
    {
        switch (hinge)
        {
            case SwivelledRodHinge s:
                yield return Strip($"{rig}: board with the nut's swivel", s.NutArmMm, "axis of the nut's swivel");
                yield return Strip($"{rig}: board with the rod's foot", s.AnchorArmMm, "axis of the rod's foot");
                break;
            case FixedRodHinge f:
                yield return Strip($"{rig}: lower board, rod square to it", f.RadiusMm, "centre of the rod");
                break;
            case DoubleArmHinge d:
                foreach (Template strip in Holes($"{rig}, driving arm", d.Drive))
                {
                    yield return strip;
                }

                yield return Strip($"{rig}: {(d.IsTipOnCameraArm ? "camera's" : "driving")} arm", d.ContactArmMm,
                    "tip, or its roller's centre");
                yield return Strip($"{rig}: base, hinge to hinge", Math.Abs(d.HingeDistanceMm),
                    d.HingeDistanceMm < 0 ? "driving hinge, behind the camera's" : "driving hinge");
                break;
        }
    }

    /// <summary>The wheels of one pair by their pitch circles.</summary>
    public static Template Wheels(string rig, int pair, int[] teeth, double moduleMm)
    {
        double nut = teeth[0] * moduleMm / 2;
        double motor = teeth[1] * moduleMm / 2;
        double distance = nut + motor;
        double largest = Math.Max(nut, motor);
        return new Template(
            $"{rig}: wheels {teeth[0]} and {teeth[1]}, module {moduleMm:0.###} mm, centres {distance:0.00} mm apart",
            (2 * EdgeMm) + (2 * distance), (2 * EdgeMm) + (2 * largest) + 10, pen =>
            {
                double y = EdgeMm + largest;
                double x = EdgeMm + nut;
                pen.Circle(x, y, nut);
                pen.Circle(x + distance, y, motor);
                pen.Cross(x, y);
                pen.Cross(x + distance, y);
                pen.Line(x, y, x + distance, y, Pen.Bold);
                pen.Text(x, y - 6, pair == 0 ? $"nut side, {teeth[0]}" : $"{teeth[0]}", 3, align: SKTextAlign.Center);
                pen.Text(x + distance, y - 6, $"motor side, {teeth[1]}", 3, align: SKTextAlign.Center);
                pen.Text(EdgeMm + distance, (2 * EdgeMm) + (2 * largest) + 4,
                    $"Pitch circles; add 0.1 mm to {distance:0.00} mm for play.", 3, align: SKTextAlign.Center);
            });
    }

    private static Template Strip(string title, double armMm, string hole) =>
        new($"{title}, {armMm:0.0##} mm from the hinge axis", armMm + (2 * EdgeMm), StripMm, pen =>
        {
            double y = StripMm / 2;
            pen.Line(EdgeMm, 4, EdgeMm, StripMm - 4, Pen.Bold);
            pen.Text(EdgeMm + 2, 7, "hinge axis (the pin's centre)", 3);
            pen.Line(EdgeMm, y, EdgeMm + armMm, y, Pen.Bold);
            pen.Cross(EdgeMm + armMm, y, 7);
            pen.Circle(EdgeMm + armMm, y, 2);
            for (int mm = 50; mm < armMm; mm += 50)
            {
                pen.Line(EdgeMm + mm, y - 1.5, EdgeMm + mm, y + 1.5);
                pen.Text(EdgeMm + mm, y + 5, $"{mm}", 2.6, align: SKTextAlign.Center);
            }

            pen.Text(EdgeMm + armMm - 9, StripMm - 5, hole, 3, align: SKTextAlign.Right);
        });
}
