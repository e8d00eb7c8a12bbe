namespace Hourhinge.Rehearsal.Tracking;

/// <summary>The error curves and their summary. Errors are hinge angle minus sky, arcseconds; negative lags.</summary>
public sealed record RehearsalResult
{
    /// <summary>Minutes tracked.</summary>
    public required double TrackedMinutes { get; init; }

    /// <summary>Kind of drive, as the rig file writes it: stepper, dc-encoder or dc.</summary>
    public required string Drive { get; init; }

    /// <summary>Time at the start that the figures leave out, s: 0 for a stepper; a DC motor settles first.</summary>
    public required double SettleSec { get; init; }

    /// <summary>Largest |error| at any instant after settling; with a stepper before and after every
    /// microstep.</summary>
    public required double PeakArcsec { get; init; }

    /// <summary>Root mean square of the error after settling.</summary>
    public required double RmsArcsec { get; init; }

    /// <summary>Largest |error| in the first minute.</summary>
    public required double PeakFirstMinuteArcsec { get; init; }

    /// <summary>Largest |error| in the last minute.</summary>
    public required double PeakLastMinuteArcsec { get; init; }

    /// <summary>Mean rate of the hinge over the sky's, less one, from settling to the end, percent.</summary>
    public required double RateErrorPercent { get; init; }

    /// <summary>The same of the constant-voltage drive.</summary>
    public required double ConstantRateErrorPercent { get; init; }

    /// <summary>Half a drive count (microstep, encoder count, fraction of a motor turn) where it is largest within
    /// the time tracked.</summary>
    public required double HalfCountArcsec { get; init; }

    /// <summary>Lateness that the controller measured of itself, s.</summary>
    public required (double Worst, double Mean) LatenessSec { get; init; }

    /// <summary>Step pulses sent and lost; null with a DC motor.</summary>
    public required (long Sent, long Lost)? Pulses { get; init; }

    /// <summary>The supply that the controller measured at the end, V; null without a meter.</summary>
    public required double? FinalVolts { get; init; }

    /// <summary>State of the controller at the end.</summary>
    public required string FinalState { get; init; }

    /// <summary>Curve: minutes.</summary>
    public required double[] Minutes { get; init; }

    /// <summary>Curve: error at that moment, with Hourhinge.</summary>
    public required double[] InstantArcsec { get; init; }

    /// <summary>Rate of the sky, rad/s: with the instant error, how far the hinge has turned.</summary>
    public required double SkyRadPerSec { get; init; }

    /// <summary>Curve: error of largest size since the point before, with Hourhinge.</summary>
    public required double[] TrackedArcsec { get; init; }

    /// <summary>Curve: the same rig, with its faults, on a constant-voltage drive: set by eye, sagging.</summary>
    public required double[] ConstantArcsec { get; init; }

    /// <summary>Runs of the firmware's loop.</summary>
    public required long LoopCount { get; init; }
}
