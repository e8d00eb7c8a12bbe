// The bent rod in true size: its curve, the former that it is bent over, the gauge that checks it.

using Hourhinge.Planning;
using Hourhinge.SharedMath.Geometry;

namespace Hourhinge.App.Sheet;

/// <summary>Templates of a bent rod.</summary>
internal sealed class RodTemplates(string rig, SwivelledRodHinge hinge, double shortestMm, double longestMm,
    RodThread? thread, RodBending? bending)
{
    /// <summary>Rod beyond each pivot, for nuts and for bending.</summary>
    public const double SpareMm = 20;

    private const double EdgeMm = 6;

    // Beyond half a turn a former is of no use; the drawing stays a simple arc.
    private const double MaxAngleRad = Math.PI;

    /// <summary>Whether the arc is a drawing of its own: no more than half a turn.</summary>
    public bool CanDraw => ArcLengthMm / hinge.BendRadiusMm <= MaxAngleRad;

    /// <summary>Length of the bent rod along its centre line.</summary>
    public double ArcLengthMm => longestMm + (2 * SpareMm);

    /// <summary>The former's radius, at the edge that the rod lies on; NaN without a thread.</summary>
    public double FormerRadiusMm => bending == null || thread == null ? double.NaN
        : bending.BentRadiusMm(hinge.BendRadiusMm) - (thread.OuterMm / 2);

    /// <summary>The centre line with the thread's edges, and where the pivots are at both ends of the travel.</summary>
    public Template Curve()
    {
        double radius = hinge.BendRadiusMm;
        return OfArc($"{rig}: the rod's curve, radius {radius:0.0#} mm", radius, ArcLengthMm, (pen, arc) =>
        {
            arc.Draw(pen, radius, Pen.Bold);
            if (thread != null)
            {
                arc.Draw(pen, radius + (thread.OuterMm / 2), Pen.Fine);
                arc.Draw(pen, radius - (thread.OuterMm / 2), Pen.Fine);
            }

            arc.Tick(pen, SpareMm, "foot's pivot", outside: true);
            arc.Tick(pen, SpareMm + shortestMm, $"nut at the shortest, {shortestMm:0.#} mm");
            arc.Tick(pen, SpareMm + longestMm, $"nut at the longest, {longestMm:0.#} mm");
        });
    }

    /// <summary>The former: the rod is bent along this edge and springs back to the curve.</summary>
    public Template Former()
    {
        double radius = FormerRadiusMm;
        return OfArc($"{rig}: edge of the former, radius {radius:0.0} mm", radius, ArcLengthMm,
            (pen, arc) => arc.Draw(pen, radius, Pen.Bold));
    }

    /// <summary>A card whose arc lies on the inside of the bent rod.</summary>
    public Template Gauge()
    {
        double radius = hinge.BendRadiusMm - ((thread?.OuterMm ?? 0) / 2);
        double chord = Math.Min(160, radius);
        double depth = RodBending.SagittaMm(radius, chord);
        string inside = thread == null ? "centre line" : "inside of the rod";
        return new Template($"{rig}: gauge for the {inside}, radius {radius:0.0#} mm", chord + (2 * EdgeMm),
            depth + 45, pen =>
            {
                double top = EdgeMm;
                double cx = EdgeMm + (chord / 2);
                double half = Math.Asin(chord / 2 / radius);
                pen.Arc(cx, top + radius, radius, (-Math.PI / 2) - half, (-Math.PI / 2) + half, Pen.Bold);
                double y = top + depth;
                pen.Line(EdgeMm, y, EdgeMm, y + 25, Pen.Bold);
                pen.Line(EdgeMm + chord, y, EdgeMm + chord, y + 25, Pen.Bold);
                pen.Line(EdgeMm, y + 25, EdgeMm + chord, y + 25, Pen.Bold);
                pen.Line(EdgeMm, y, EdgeMm + chord, y, Pen.Fine, dashed: true);
                pen.Line(cx, top, cx, y, Pen.Fine);
                pen.Text(cx + 2, y - 1.5, $"{depth:0.00} mm", 3);
                pen.Text(cx, y + 6, $"chord {chord:0.#} mm, sagitta {depth:0.00} mm", 3.4,
                    align: SkiaSharp.SKTextAlign.Center);
                pen.Text(cx, y + 12, "Cut out along the bold line. Move it along the rod: no light may pass.", 3,
                    align: SkiaSharp.SKTextAlign.Center);
            });
    }

    private static Template OfArc(string title, double radius, double length, Action<Pen, TrueArc> draw)
    {
        double half = length / radius / 2;
        double room = EdgeMm + 18;
        double width = (2 * radius * Math.Sin(half)) + (2 * room);
        double height = (radius * (1 - Math.Cos(half))) + (2 * room);
        return new Template(title, width, height,
            pen => draw(pen, new TrueArc(width / 2, room + radius, radius, half)));
    }

    /// <summary>An arc that is highest in the middle.</summary>
    private sealed record TrueArc(double X, double Y, double Radius, double HalfAngle)
    {
        public void Draw(Pen pen, double radius, double width) =>
            pen.Arc(X, Y, radius, (-Math.PI / 2) - HalfAngle, (-Math.PI / 2) + HalfAngle, width);

        public void Tick(Pen pen, double alongMm, string text, bool outside = false)
        {
            double angle = (-Math.PI / 2) - HalfAngle + (alongMm / Radius);
            (double cos, double sin) = (Math.Cos(angle), Math.Sin(angle));
            pen.Line(X + ((Radius - 8) * cos), Y + ((Radius - 8) * sin), X + ((Radius + 8) * cos),
                Y + ((Radius + 8) * sin));
            double at = Radius + (outside ? 11 : -13);
            pen.Text(X + (at * cos), Y + (at * sin), text, 3,
                align: SkiaSharp.SKTextAlign.Center);
        }
    }
}
