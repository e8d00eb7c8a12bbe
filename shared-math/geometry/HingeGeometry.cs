// The interface of a hinge form. To add a form, derive from this class, as SwivelledRodHinge and FixedRodHinge do.

namespace Hourhinge.SharedMath.Geometry;

/// <summary>
/// A hinge opened by a rod: the length of rod between the boards as a function of the opening angle.
/// Immutable. Angles in radians, lengths in millimetres.
/// </summary>
public abstract class HingeGeometry
{
    /// <summary>Smallest angle at which the rod still opens the hinge properly, radians.</summary>
    public double MinAngleRad { get; protected set; }

    /// <summary>Largest such angle, radians.</summary>
    public double MaxAngleRad { get; protected set; }

    /// <summary>Rod length s(θ) between the boards, mm, for an angle within the legal range.</summary>
    public abstract double RodLengthMm(double angleRad);

    /// <summary>ds/dθ, mm per radian: the lever of the rod on the hinge. Positive within the legal
    /// range.</summary>
    public abstract double RodSlopeMmPerRad(double angleRad);

    /// <summary>The angle at which the rod has this length, radians; NaN where no legal angle has it.</summary>
    public abstract double AngleRad(double rodLengthMm);

    /// <summary>
    /// Hinge minus sky, in radians, after the hinge has been driven for a time at the constant rod speed that was right
    /// at the start: positive when the hinge is ahead of the sky. Exact.
    /// </summary>
    /// <param name="startAngleRad">Opening at the start.</param>
    /// <param name="turnedRad">Angle that the sky has turned since; negative when the hinge closes.</param>
    public double UncorrectedErrorRad(double startAngleRad, double turnedRad)
    {
        double rod = RodLengthMm(startAngleRad) + (RodSlopeMmPerRad(startAngleRad) * turnedRad);
        double reached = AngleRad(rod) - startAngleRad;
        return 0 <= turnedRad ? reached - turnedRad : turnedRad - reached;
    }

    /// <summary>True for an angle in the legal range, with a tolerance for rounding.</summary>
    public bool Allows(double angleRad) => MinAngleRad - 1e-12 <= angleRad && angleRad <= MaxAngleRad + 1e-12;
}
