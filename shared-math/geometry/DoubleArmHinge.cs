// Double arm: the rod opens a driving arm on a hinge of its own, and that arm pushes the camera's arm.

namespace Hourhinge.SharedMath.Geometry;

/// <summary>
/// The rod and the driving arm are one of the other forms, s(φ); the camera's arm follows by a sliding contact, θ(φ)
/// (<see cref="SlidingContact"/>), so s(θ) = s(φ(θ)). The camera's hinge is the origin; the driving arm's hinge is at
/// (h, v), with h along the driving arm's direction at φ = 0, positive toward the arms' ends. Two layouts:
/// <list type="bullet">
/// <item>the camera's arm rests on the tip of the driving arm, at L from the driving hinge;</item>
/// <item>the driving arm slides along the tip of the camera's arm, at L from the camera's hinge.</item>
/// </list>
/// </summary>
/// <remarks>
/// Error of a constant drive from closed (v = 0, no offset), by the series of both angles in u = s/a, where the
/// isosceles rod gives φ = u + u³/24 + ... and the fixed rod φ = u − u³/3 + ...
/// Tip of the driving arm, k = h/L: θ = φ/(1+k) − k(k−1)φ³/(6(1+k)³) + ... The isosceles rod's cubic term vanishes
/// when 3k² − 6k − 1 = 0: k = 1 + 2/√3 = 2.1547.
/// Tip of the camera's arm, κ = −h/L: θ = φ + asin(κ sinφ) = (1+κ)(φ + κ(κ−1)φ³/6 + ...). The isosceles rod's cubic
/// term is (κ − 1/2)²u³/6, which vanishes at L = 2·(−h); what is left is −θ⁵/320 · (2/3)⁴, 0.16" after an hour from
/// closed, against 157" of the isosceles rod alone. L/|h| = 2.186, a published best ratio (type 4 of the double arm,
/// Sky and Telescope, February 1988, from memory), balances the cubic against the fifth power: the error crosses zero
/// again two hours from closed. The fixed rod's cubic term vanishes at κ = 2.
/// </remarks>
public sealed class DoubleArmHinge : HingeGeometry
{
    private const int ScanSteps = 200;

    // Eight hours of sky; and a camera arm that starts no lower than this. Beyond, the arms point at each other.
    private const double WidestDeg = 120;
    private const double LowestDeg = -60;

    private readonly SlidingContact _contact;

    // One of the two is null. Their methods are called without a virtual call: a double arm never opens another one,
    // and the depth of the stack stays provable.
    private readonly SwivelledRodHinge _swivelled;
    private readonly FixedRodHinge _fixed;

    /// <summary>Builds the form. Without any opening at which the contact works, MaxAngleRad is below
    /// MinAngleRad.</summary>
    /// <param name="drive">The rod on the driving arm, a <see cref="SwivelledRodHinge"/> or a
    /// <see cref="FixedRodHinge"/>; its angle is φ.</param>
    /// <param name="isTipOnCameraArm">True: the driving arm slides along the tip of the camera's arm.</param>
    /// <param name="contactArmMm">L, hinge of the arm that carries the tip to the tip, &gt; 0.</param>
    /// <param name="hingeDistanceMm">h, mm.</param>
    /// <param name="hingeHeightMm">v, mm.</param>
    /// <param name="contactOffsetMm">Distance of the tip (or the centre of its roller) from the line through the
    /// hinge of the arm that slides on it, positive when the camera's side is the farther; mm.</param>
    public DoubleArmHinge(
        HingeGeometry drive,
        bool isTipOnCameraArm,
        double contactArmMm,
        double hingeDistanceMm,
        double hingeHeightMm,
        double contactOffsetMm)
    {
        Drive = drive;
        _swivelled = drive as SwivelledRodHinge;
        _fixed = drive as FixedRodHinge;
        IsTipOnCameraArm = isTipOnCameraArm;
        ContactArmMm = contactArmMm;
        HingeDistanceMm = hingeDistanceMm;
        HingeHeightMm = hingeHeightMm;
        ContactOffsetMm = contactOffsetMm;
        _contact = isTipOnCameraArm
            ? new SlidingContact(contactArmMm, hingeDistanceMm, hingeHeightMm, contactOffsetMm)
            : new SlidingContact(contactArmMm, -hingeDistanceMm, -hingeHeightMm, -contactOffsetMm);
        FindLegalRange();
    }

    /// <summary>The rod on the driving arm.</summary>
    public HingeGeometry Drive { get; }

    /// <summary>Which arm carries the tip.</summary>
    public bool IsTipOnCameraArm { get; }

    /// <summary>L, mm.</summary>
    public double ContactArmMm { get; }

    /// <summary>h, mm.</summary>
    public double HingeDistanceMm { get; }

    /// <summary>v, mm.</summary>
    public double HingeHeightMm { get; }

    /// <summary>Offset of the contact, mm.</summary>
    public double ContactOffsetMm { get; }

    /// <inheritdoc/>
    public override double RodLengthMm(double angleRad)
    {
        double driving = DrivingRad(angleRad);
        return _fixed != null ? _fixed.LengthAtMm(driving) : _swivelled.LengthAtMm(driving);
    }

    /// <inheritdoc/>
    public override double RodSlopeMmPerRad(double angleRad)
    {
        double driving = DrivingRad(angleRad);
        double slope = _fixed != null ? _fixed.SlopeAtMmPerRad(driving) : _swivelled.SlopeAtMmPerRad(driving);
        return IsTipOnCameraArm
            ? slope * _contact.RidingPerTip(angleRad, driving)
            : slope / _contact.RidingPerTip(driving, angleRad);
    }

    /// <inheritdoc/>
    public override double AngleRad(double rodLengthMm)
    {
        double driving = _fixed != null ? _fixed.AngleAtRad(rodLengthMm) : _swivelled.AngleAtRad(rodLengthMm);
        if (double.IsNaN(driving))
        {
            return double.NaN;
        }

        double angle = CameraRad(driving);
        return !double.IsNaN(angle) && Allows(angle) ? angle : double.NaN;
    }

    /// <summary>φ for a θ: the angle of the driving arm, radians.</summary>
    public double DrivingRad(double angleRad) =>
        IsTipOnCameraArm ? _contact.RidingRad(angleRad) : _contact.TipRad(angleRad);

    private double CameraRad(double drivingRad) =>
        IsTipOnCameraArm ? _contact.TipRad(drivingRad) : _contact.RidingRad(drivingRad);

    private bool Works(double drivingRad)
    {
        double camera = CameraRad(drivingRad);
        double widest = AngleUnits.FromDeg(WidestDeg);
        if (!(drivingRad <= widest && camera <= widest && AngleUnits.FromDeg(LowestDeg) <= camera))
        {
            return false;
        }

        return IsTipOnCameraArm ? _contact.Works(camera, drivingRad) : _contact.Works(drivingRad, camera);
    }

    // The first stretch of driving angles, from closed, at which the contact works.
    private void FindLegalRange()
    {
        double step = (Drive.MaxAngleRad - Drive.MinAngleRad) / ScanSteps;
        int first = 0;
        while (first <= ScanSteps && !Works(Drive.MinAngleRad + (first * step)))
        {
            first++;
        }

        if (first > ScanSteps)
        {
            MinAngleRad = 1;
            MaxAngleRad = 0;
            return;
        }

        int last = first;
        while (last < ScanSteps && Works(Drive.MinAngleRad + ((last + 1) * step)))
        {
            last++;
        }

        double from = Drive.MinAngleRad + (first * step);
        double to = Drive.MinAngleRad + (last * step);
        MinAngleRad = CameraRad(first == 0 ? from : Edge(from, from - step));
        MaxAngleRad = CameraRad(last == ScanSteps ? Drive.MaxAngleRad : Edge(to, to + step));
    }

    // The last angle that works between one that does and one that does not.
    private double Edge(double works, double fails)
    {
        for (int i = 0; i < 60; i++)
        {
            double middle = (works + fails) / 2;
            if (Works(middle))
            {
                works = middle;
            }
            else
            {
                fails = middle;
            }
        }

        return works;
    }
}
