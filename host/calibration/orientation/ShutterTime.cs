// How long a shutter is open that is marked with a rounded number. Not here: what the trails say (StoppedRun).
namespace Hourhinge.Calibration.Orientation;

/// <summary>
/// Shutter times by powers of two. Cameras step their shutters by thirds of a stop, 2^(n/3) s, and mark them with
/// rounded numbers: 15, 30 and 60 s are open for 16, 32 and 64 s (common practice, no source; a timer of one's own
/// keeps 30 s).
/// </summary>
public static class ShutterTime
{
    // Longer exposures are timed by hand or by a timer, not by the camera's steps.
    private const double LongestStepSec = 70;

    // A step is 26 %; a mark is within 8 % of its step.
    private const double MarkTolerance = 0.08;

    // Differences below this do no harm.
    private const double Negligible = 0.004;

    /// <summary>The time by powers of two that a camera may mean by a marked one, s; null where it is the
    /// same.</summary>
    public static double? Stepped(double markedSec)
    {
        double stepped = Math.Pow(2, Math.Round(3 * Math.Log2(markedSec)) / 3);
        double off = Math.Abs((stepped / markedSec) - 1);
        return markedSec <= LongestStepSec && off is > Negligible and < MarkTolerance ? stepped : null;
    }
}
