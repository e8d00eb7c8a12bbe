// The closed form of a drive: where the motor must be at every moment, in floating point.
// The compiler turns it into a DriveProfile; tests and reports measure against it. Not used in the motion path.

using System;
using Hourhinge.SharedMath.Geometry;

namespace Hourhinge.SharedMath.Compile;

/// <summary>
/// A rig's motion from the start of its travel to the end. "Counts" are what the drive counts: microsteps of a
/// stepper, or encoder counts of a DC motor. Position rises in the tracking direction and is 0 at the start.
/// </summary>
public sealed class DriveDesign
{
    /// <summary>Longest travel a profile may hold, seconds (12 h).</summary>
    public const double MaxTravelSec = 43200;

    private readonly double _countsPerMm;
    private readonly double _startRodMm;
    private double _slopePerSec;
    private double _curvePerSec2;
    private double _holdSec;

    /// <summary>Builds a drive; the caller has checked the geometry's numbers.</summary>
    /// <param name="geometry">The hinge form.</param>
    /// <param name="startAngleRad">Opening at the start of the travel, within the legal range.</param>
    /// <param name="endAngleRad">Opening at the end; smaller than the start for a hinge that closes.</param>
    /// <param name="rateRadPerSec">Rate of the sky, &gt; 0.</param>
    /// <param name="pitchMm">Rod travel for one nut turn, mm.</param>
    /// <param name="countsPerNutTurn">Drive counts for one nut turn, exact.</param>
    public DriveDesign(
        HingeGeometry geometry,
        double startAngleRad,
        double endAngleRad,
        double rateRadPerSec,
        double pitchMm,
        GearTrain countsPerNutTurn)
    {
        Geometry = geometry;
        StartAngleRad = startAngleRad;
        EndAngleRad = endAngleRad;
        RateRadPerSec = rateRadPerSec;
        PitchMm = pitchMm;
        CountsPerNutTurn = countsPerNutTurn;
        AngleSign = startAngleRad <= endAngleRad ? 1 : -1;
        _countsPerMm = countsPerNutTurn.Ratio / pitchMm;
        _startRodMm = geometry.RodLengthMm(startAngleRad);
        double travel = Math.Abs(endAngleRad - startAngleRad) / rateRadPerSec;
        TravelSec = travel < MaxTravelSec ? travel : MaxTravelSec;
        Periodic = new PeriodicError[0];
    }

    /// <summary>The hinge form.</summary>
    public HingeGeometry Geometry { get; }

    /// <summary>Opening at the start, radians.</summary>
    public double StartAngleRad { get; }

    /// <summary>Opening at the end, radians.</summary>
    public double EndAngleRad { get; }

    /// <summary>Rate of the sky, rad/s.</summary>
    public double RateRadPerSec { get; }

    /// <summary>Thread pitch, mm.</summary>
    public double PitchMm { get; }

    /// <summary>Drive counts for one nut turn.</summary>
    public GearTrain CountsPerNutTurn { get; }

    /// <summary>+1 when tracking opens the hinge, -1 when it closes it.</summary>
    public int AngleSign { get; }

    /// <summary>Seconds from the start to the end of the travel.</summary>
    public double TravelSec { get; private set; }

    /// <summary>Periodic errors of the nut and gear that the profile takes out; may be empty.</summary>
    public PeriodicError[] Periodic { get; set; }

    /// <summary>
    /// Lets the rate change along the travel, as calibration found that it must (a rod off round): the rate at t is
    /// <see cref="RateRadPerSec"/> × (1 + slope·t + curve·t²) until <paramref name="holdSec"/>, where measurements end,
    /// and stays there from then on.
    /// </summary>
    /// <param name="slopePpmPerHour">Slope, ppm an hour.</param>
    /// <param name="curvePpmPerHour2">Curve, ppm an hour squared.</param>
    /// <param name="holdSec">Time from which the rate is held, s.</param>
    public void ChangeRate(double slopePpmPerHour, double curvePpmPerHour2, double holdSec)
    {
        _slopePerSec = slopePpmPerHour * 1e-6 / 3600;
        _curvePerSec2 = curvePpmPerHour2 * 1e-6 / 3600 / 3600;
        _holdSec = holdSec;
        double wanted = Math.Abs(EndAngleRad - StartAngleRad) / RateRadPerSec;
        double low = 0;
        double high = 2 * wanted;
        for (int i = 0; i < 60; i++)
        {
            double middle = (low + high) / 2;
            if (EquivalentSec(middle) <= wanted)
            {
                low = middle;
            }
            else
            {
                high = middle;
            }
        }

        TravelSec = low < MaxTravelSec ? low : MaxTravelSec;
    }

    /// <summary>Opening that the sky asks for at a time, radians.</summary>
    public double AngleRadAt(double sec) => StartAngleRad + (AngleSign * RateRadPerSec * EquivalentSec(sec));

    /// <summary>Counts due at a time by the geometry alone.</summary>
    public double SmoothCountsAt(double sec) =>
        AngleSign * (Geometry.RodLengthMm(AngleRadAt(sec)) - _startRodMm) * _countsPerMm;

    /// <summary>Counts a second due at a time by the geometry alone.</summary>
    public double CountsPerSecAt(double sec) =>
        Geometry.RodSlopeMmPerRad(AngleRadAt(sec)) * RateRadPerSec * RateFactor(sec) * _countsPerMm;

    /// <summary>Arcseconds of hinge angle for one count at a time.</summary>
    public double ArcsecPerCountAt(double sec) =>
        AngleUnits.ArcsecPerRad / (Geometry.RodSlopeMmPerRad(AngleRadAt(sec)) * _countsPerMm);

    /// <summary>Nut turns a minute at a time.</summary>
    public double NutTurnsPerMinuteAt(double sec) =>
        Geometry.RodSlopeMmPerRad(AngleRadAt(sec)) * RateRadPerSec * RateFactor(sec) * 60 / PitchMm;

    /// <summary>Counts due at a time with the periodic errors taken out: what a profile must reproduce.</summary>
    public double CountsAt(double sec)
    {
        double smooth = SmoothCountsAt(sec);
        return Periodic.Length == 0
            ? smooth
            : PeriodicError.NutTurns(Periodic, smooth / CountsPerNutTurn.Ratio) * CountsPerNutTurn.Ratio;
    }

    /// <summary>2π|A|/P of all periodic errors together: the motor runs at most 1 / (1 − this) times as fast.</summary>
    public double PeriodicSteepness
    {
        get
        {
            double sum = 0;
            for (int i = 0; i < Periodic.Length; i++)
            {
                sum += Periodic[i].Steepness;
            }

            return sum;
        }
    }

    private double RateFactor(double sec)
    {
        double t = sec < _holdSec ? sec : _holdSec;
        return 1 + (_slopePerSec * t) + (_curvePerSec2 * t * t);
    }

    // The integral of the factor: seconds at the plain rate that turn the hinge as far.
    private double EquivalentSec(double sec)
    {
        double t = sec < _holdSec ? sec : _holdSec;
        double extra = (_slopePerSec * t * t / 2) + (_curvePerSec2 * t * t * t / 3);
        return sec + extra + ((sec - t) * (RateFactor(t) - 1));
    }
}
