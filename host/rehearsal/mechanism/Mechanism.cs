using Hourhinge.Rig;
using Hourhinge.SharedMath.Geometry;

namespace Hourhinge.Rehearsal.Mechanisms;

/// <summary>Differences between the rig as built and the rig file. All zero: a perfect rig.</summary>
public sealed record MechanicalFaults
{
    /// <summary>Both arms of the rod (or its radius) longer than the file says, percent.</summary>
    public double RadiusErrorPercent { get; init; }

    /// <summary>Bend radius of the rod larger than the file says, percent.</summary>
    public double BendErrorPercent { get; init; }

    /// <summary>Rod bend not circular: one sine wave over the travel, amplitude in micrometres.</summary>
    public double RodWaveUm { get; init; }

    /// <summary>Periodic error of one nut turn, arcseconds of hinge angle at the start.</summary>
    public double PeriodicArcsec { get; init; }

    /// <summary>Phase of the periodic error at the start, degrees.</summary>
    public double PeriodicPhaseDeg { get; init; }
}

/// <summary>
/// The rig as built: from the drive's counts through gear, thread and linkage to the opening angle. Everything
/// after the gear is solved from points in the plane (<see cref="Linkage"/>), not by the closed form of the drive.
/// </summary>
public sealed class Mechanism
{
    private readonly Linkage _linkage;
    private readonly double _countsPerNutTurn;
    private readonly double _pitchMm;
    private readonly double _startRodMm;
    private readonly double _travelMm;
    private readonly int _sign;
    private readonly double _waveMm;
    private readonly double _periodicMm;
    private readonly double _phaseRad;
    private double _lastCounts = double.NaN;
    private double _lastAngle;

    /// <summary>Builds the rig of a file with some faults; <paramref name="startRodMm"/> where tracking
    /// starts.</summary>
    public Mechanism(RigDescription rig, double countsPerNutTurn, double startRodMm, MechanicalFaults faults)
    {
        double scale = 1 + (faults.RadiusErrorPercent / 100);
        _linkage = Linkage.Of(rig.Hinge, scale, 1 + (faults.BendErrorPercent / 100));
        _countsPerNutTurn = countsPerNutTurn;
        _pitchMm = rig.Rod.PitchMm;
        _startRodMm = startRodMm;
        _travelMm = rig.Rod.LongestMm - rig.Rod.ShortestMm;
        _sign = rig.Opens ? 1 : -1;
        _waveMm = faults.RodWaveUm / 1000;
        _phaseRad = faults.PeriodicPhaseDeg * Math.PI / 180;
        LeverMmPerRad = 2e-4 / (_linkage.AngleRad(startRodMm + (_sign * 1e-4) + 1e-4)
            - _linkage.AngleRad(startRodMm + (_sign * 1e-4) - 1e-4));
        _periodicMm = faults.PeriodicArcsec / AngleUnits.ArcsecPerRad * LeverMmPerRad;
        StartAngleRad = _linkage.AngleRad(startRodMm);
    }

    /// <summary>Opening at the start, radians.</summary>
    public double StartAngleRad { get; }

    /// <summary>The true lever at the start, mm of rod per radian, by difference.</summary>
    public double LeverMmPerRad { get; }

    /// <summary>Rod length at a position of the drive, mm.</summary>
    public double RodMm(double counts)
    {
        double turns = counts / _countsPerNutTurn;
        double ideal = turns * _pitchMm;
        double wave = _waveMm == 0 ? 0 : _waveMm * Math.Sin(2 * Math.PI * ideal / _travelMm);
        double periodic = _periodicMm == 0
            ? 0
            : _periodicMm * (Math.Sin((2 * Math.PI * turns) + _phaseRad) - Math.Sin(_phaseRad));
        return _startRodMm + (_sign * (ideal + wave + periodic));
    }

    /// <summary>How far the hinge has turned in the tracking direction since the start, radians.</summary>
    public double TurnedRad(double counts)
    {
        if (counts != _lastCounts)
        {
            _lastCounts = counts;
            _lastAngle = TurnedRadAtRod(RodMm(counts));
        }

        return _lastAngle;
    }

    /// <summary>The same for a rod length, mm.</summary>
    public double TurnedRadAtRod(double rodMm) => _sign * (_linkage.AngleRad(rodMm) - StartAngleRad);

    /// <summary>How far the hinge has turned once the nut has moved by some mm of thread, radians; the nut stops at the
    /// ends of the travel.</summary>
    public double TurnedRadAfter(double nutMm) =>
        TurnedRadAtRod(RodMm(Math.Clamp(nutMm, 0, _travelMm) / _pitchMm * _countsPerNutTurn));
}
