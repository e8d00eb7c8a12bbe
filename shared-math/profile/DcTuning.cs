// Loop gains of a closed-loop DC drive from its speed curve, so that a maker need not tune. Not used in the motion
// path.

using System;

namespace Hourhinge.SharedMath.Profile;

/// <summary>
/// The motor answers to duty with speed, and speed adds up to position. A proportional gain of g per second therefore
/// takes an error out with a time constant of 1/g. The loop passes every 1 to 20 ms and the motor's own time constant
/// is some 20 to 50 ms; g = 4 /s keeps the crossover a good three times below both (rule of thumb for a PI loop around
/// an integrating plant with lag: crossover · total lag &lt; 1/3; common practice, no source). The integral works a
/// quarter as fast, so that it learns the load without ringing.
/// </summary>
public static class DcTuning
{
    /// <summary>Closed-loop crossover, 1/s.</summary>
    public const double CrossoverPerSec = 4;

    /// <summary>Sets both gains from the curve's steepness between its end points.</summary>
    public static void SetGains(DcSettings dc)
    {
        int last = dc.CurveDuty.Length - 1;
        double dutyPerCount = 1000.0 * (dc.CurveDuty[last] - dc.CurveDuty[0])
            / (dc.CurveMilliCountsPerSec[last] - dc.CurveMilliCountsPerSec[0]);
        double proportional = CrossoverPerSec * dutyPerCount;
        double integral = proportional * CrossoverPerSec / 4;
        dc.ProportionalQ8 = Q8(proportional);
        dc.IntegralQ8 = Q8(integral);
    }

    private static int Q8(double gain) => gain * 256 >= 1 << 24 ? 1 << 24 : (int)Math.Round(gain * 256);
}
