// Field of view of a lens and sensor, and the frame position and rotation that hold a list of targets.
using Hourhinge.Numerics;
using Hourhinge.Sky.Places;

namespace Hourhinge.Sky.Planning;

/// <summary>A frame on the sky through a lens without distortion.</summary>
/// <param name="FocalLengthMm">0.1 mm to 100 m.</param>
/// <param name="LongSideMm">Longer side of the sensor.</param>
/// <param name="ShortSideMm">Shorter side of the sensor.</param>
public readonly record struct FieldOfView(double FocalLengthMm, double LongSideMm, double ShortSideMm)
{
    public Angle LongSide => Across(LongSideMm);

    public Angle ShortSide => Across(ShortSideMm);

    public Angle Diagonal => Across(Math.Sqrt((LongSideMm * LongSideMm) + (ShortSideMm * ShortSideMm)));

    /// <summary>Checks the ranges.</summary>
    /// <exception cref="ArgumentException">A value is out of range; the message names it.</exception>
    public static FieldOfView Of(double focalLengthMm, double sideMm, double otherSideMm)
    {
        Check(focalLengthMm, "focal length", 0.1, 1e5);
        Check(sideMm, "sensor width", 0.1, 1000);
        Check(otherSideMm, "sensor height", 0.1, 1000);
        return new FieldOfView(focalLengthMm, Math.Max(sideMm, otherSideMm), Math.Min(sideMm, otherSideMm));
    }

    /// <summary>Scale at the centre of the frame.</summary>
    /// <param name="pixelPitchUm">Pixel pitch in micrometres.</param>
    public double ArcsecPerPixel(double pixelPitchUm) =>
        Angle.FromRadians(pixelPitchUm / 1000 / FocalLengthMm).Arcseconds;

    private Angle Across(double sideMm) => new Angle(2 * Math.Atan2(sideMm / 2, FocalLengthMm));

    private static void Check(double value, string name, double min, double max)
    {
        if (!(value >= min && value <= max))
        {
            throw new ArgumentException($"The {name} of {value:G6} mm must lie between {min} and {max} mm.");
        }
    }
}

/// <summary>A target to frame: its centre and diameter.</summary>
public readonly record struct FramedTarget(Equatorial Place, Angle Diameter);

/// <summary>The best frame found.</summary>
/// <param name="Centre">Where to point the centre of the frame (same equinox as the targets).</param>
/// <param name="LongSidePositionAngle">Direction of the long side, from north through east, [0, 180).</param>
/// <param name="Margin">Smallest distance from the targets to an edge; negative: they do not fit.</param>
public readonly record struct FramePlan(Equatorial Centre, Angle LongSidePositionAngle, Angle Margin)
{
    public bool Fits => Margin.Radians >= 0;
}

/// <summary>Fits several targets into one frame.</summary>
public static class Framing
{
    private const double TurnStepDeg = 0.5;

    /// <summary>Tries every rotation of the frame in steps of half a degree and keeps the one with the widest
    /// margin.</summary>
    /// <param name="targets">One or more, all within 60 degrees of their centre.</param>
    /// <param name="field">The frame.</param>
    /// <exception cref="ArgumentException">No targets, or they lie too far apart for any frame.</exception>
    public static FramePlan Fit(IReadOnlyList<FramedTarget> targets, FieldOfView field)
    {
        ArgumentNullException.ThrowIfNull(targets);
        if (targets.Count == 0)
        {
            throw new ArgumentException("There must be at least one target to frame.", nameof(targets));
        }

        Vector3 sum = targets.Aggregate(default(Vector3), (s, t) => s + t.Place.ToVector());
        if (sum.Length < targets.Count * 0.5 || targets.Any(t => t.Place.ToVector().Dot(sum.Normalized()) < 0.5))
        {
            throw new ArgumentException("The targets lie more than 60 degrees from their centre: no frame holds them.",
                nameof(targets));
        }

        var centre = Equatorial.FromVector(sum.Normalized());
        FramePlan plan = default;
        // The projection depends on the frame's centre, so the centre is found by iteration.
        for (int round = 0; round < 4; round++)
        {
            plan = BestTurn(targets, field, centre);
            centre = plan.Centre;
        }

        return plan;
    }

    private static FramePlan BestTurn(IReadOnlyList<FramedTarget> targets, FieldOfView field, Equatorial centre)
    {
        ((double East, double North) Point, double Radius)[] flat =
            targets.Select(t => (Point: TangentPlane.Project(t.Place, centre), Radius: (t.Diameter / 2).Tan()))
            .ToArray();
        double roomLong = field.LongSideMm / field.FocalLengthMm;
        double roomShort = field.ShortSideMm / field.FocalLengthMm;
        double best = double.NegativeInfinity;
        FramePlan plan = default;
        for (double degrees = 0.0; degrees < 180; degrees += TurnStepDeg)
        {
            var turn = Angle.FromDegrees(degrees);
            (double Centre, double Length) along =
                Extent(flat.Select(f => ((f.Point.East * turn.Sin()) + (f.Point.North * turn.Cos()), f.Radius)));
            (double Centre, double Length) across =
                Extent(flat.Select(f => ((f.Point.East * turn.Cos()) - (f.Point.North * turn.Sin()), f.Radius)));
            double margin = Math.Min(roomLong - along.Length, roomShort - across.Length) / 2;
            if (margin <= best + 1e-12)
            {
                continue;
            }

            best = margin;
            double east = (along.Centre * turn.Sin()) + (across.Centre * turn.Cos());
            double north = (along.Centre * turn.Cos()) - (across.Centre * turn.Sin());
            plan = new FramePlan(TangentPlane.Deproject((east, north), centre), turn, new Angle(Math.Atan(margin)));
        }

        return plan;
    }

    private static (double Centre, double Length) Extent(IEnumerable<(double At, double Radius)> spots)
    {
        double low = double.PositiveInfinity, high = double.NegativeInfinity;
        foreach ((double at, double radius) in spots)
        {
            low = Math.Min(low, at - radius);
            high = Math.Max(high, at + radius);
        }

        return ((low + high) / 2, high - low);
    }
}

/// <summary>The gnomonic projection, that of a lens without distortion.</summary>
/// <remarks>Source: Calabretta and Greisen, Astronomy and Astrophysics 395 (2002) 1077, section 5.1.3 (TAN).</remarks>
public static class TangentPlane
{
    /// <summary>Standard coordinates in radians of the tangent plane, east and north.</summary>
    public static (double East, double North) Project(Equatorial place, Equatorial centre)
    {
        (Vector3 axis, Vector3 east, Vector3 north) = Axes(centre);
        Vector3 v = place.ToVector();
        double depth = v.Dot(axis);
        return (v.Dot(east) / depth, v.Dot(north) / depth);
    }

    public static Equatorial Deproject((double East, double North) point, Equatorial centre)
    {
        (Vector3 axis, Vector3 east, Vector3 north) = Axes(centre);
        return Equatorial.FromVector((axis + (east * point.East) + (north * point.North)).Normalized());
    }

    private static (Vector3 Axis, Vector3 East, Vector3 North) Axes(Equatorial centre)
    {
        Vector3 axis = centre.ToVector();
        var east = new Vector3(-centre.RightAscension.Sin(), centre.RightAscension.Cos(), 0);
        return (axis, east, axis.Cross(east));
    }
}
