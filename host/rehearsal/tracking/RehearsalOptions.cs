using Hourhinge.Rehearsal.Rig;

namespace Hourhinge.Rehearsal.Tracking;

/// <summary>What to rehearse.</summary>
public sealed record RehearsalOptions
{
    /// <summary>Default of <see cref="SagPercent"/>. Assumed: an hour of a fresh pack's discharge.</summary>
    public const double UsualSagPercent = 3;

    /// <summary>Default of <see cref="ByEyePercent"/>. Assumed: a nut timed against a watch for a few
    /// minutes.</summary>
    public const double UsualByEyePercent = 1;

    /// <summary>The shortest pass of a board's loop, ms: the tick of its system (firmware/MOTION-COST.md).</summary>
    public const double BoardLoopPeriodMs = 10;

    /// <summary>Minutes to track; the travel's end stops earlier.</summary>
    public double Minutes { get; init; } = 60;

    /// <summary>Period of the firmware's loop, ms.</summary>
    public double LoopPeriodMs { get; init; } = 1;

    /// <summary>The board and the rig as built.</summary>
    public VirtualRigOptions Board { get; init; } = new();

    /// <summary>How much the pack's voltage falls, evenly over the rehearsal, percent. A DC motor runs from that pack;
    /// the constant-voltage drive slows in proportion.</summary>
    public double SagPercent { get; init; } = UsualSagPercent;

    /// <summary>How much too fast the constant-voltage drive was set by eye, percent; negative is slow.</summary>
    public double ByEyePercent { get; init; } = UsualByEyePercent;

    /// <summary>Interval between two points of the recorded curves, s.</summary>
    public double SampleIntervalSec { get; init; } = 5;
}
