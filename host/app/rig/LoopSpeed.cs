using Hourhinge.Firmware.Drives;
using Hourhinge.Rehearsal.Tracking;
using Hourhinge.Rig;
using Hourhinge.SharedMath.Compile;

namespace Hourhinge.App.Rig;

/// <summary>How fast the controller's loop must be for a rig. What a board achieves: firmware/MOTION-COST.md.</summary>
internal static class LoopSpeed
{
    // The pass of a slow board, ms: a tracking pass at the lower end of the speeds in MOTION-COST.md.
    private const double SlowPassMs = 30;

    // The longest pass with which the DC drives were rehearsed.
    private const double DcPassMs = 20;
    private const int Samples = 100;

    /// <summary>The longest pass with which the motor still keeps up with the sky, ms.</summary>
    public static double LongestPassMs(RigDescription rig, DriveDesign design)
    {
        if (rig.Motor.Dc != null)
        {
            return DcPassMs;
        }

        double intervalUs = 1e6 / rig.Motor.PullInStepsPerSec;
        double pulses = Math.Min(StepperDrive.MaxPulsesPerUpdate, 1 + Math.Floor(StepperDrive.MaxWaitUs / intervalUs));
        return pulses * 1000 / FastestCountsPerSec(design);
    }

    private static double FastestCountsPerSec(DriveDesign design) => Enumerable.Range(0, Samples + 1)
        .Max(i => Math.Abs(design.CountsPerSecAt(design.TravelSec * i / Samples)));

    /// <summary>What a maker should know; null when any board is fast enough.</summary>
    public static string? Warning(RigDescription rig, DriveDesign design)
    {
        double needed = LongestPassMs(rig, design);
        if (needed >= SlowPassMs)
        {
            return null;
        }

        string board =
            $"This rig needs a pass of the controller's loop at least every {needed:0.#} ms. A board's takes "
            + $"{RehearsalOptions.BoardLoopPeriodMs:0} ms or more, a slow one's {SlowPassMs:0} ms "
            + "(firmware/MOTION-COST.md).";
        string counter = FastestCountsPerSec(design) * 100 < rig.Motor.PullInStepsPerSec * StepTrain.MaxPercentOfPullIn
            ? ", or wire the step counter (hardware-notes/pin-map.md)"
            : "";
        return rig.Motor.Dc != null ? $"{board} Rehearse it with --pass and your board's time."
            : needed < RehearsalOptions.BoardLoopPeriodMs
            ? $"{board} It would fall behind the sky: take fewer microsteps{counter}."
            : $"{board} On a slow board it would fall behind the sky: measure yours, or take fewer "
                + $"microsteps{counter}.";
    }
}
