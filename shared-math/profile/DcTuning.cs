// Loop gains of a closed-loop DC drive, computed from its speed curve. Not used in the motion path.

using System;

namespace Hourhinge.SharedMath.Profile;

/// <summary>
/// Duty sets the speed, and position is the integral of speed, so a proportional gain of g per second removes an
/// error with a time constant of 1/g. The loop runs every 1 to 20 ms and the motor's own time constant is 20 to 50
/// ms; g = 4 /s keeps the crossover more than three times below both (rule of thumb for a PI loop around an
/// integrating plant with lag: crossover · total lag &lt; 1/3; common practice, no source). The integral is four
/// times slower, so that it does not cause ringing.
/// </summary>
public static class DcTuning
{
    /// <summary>Closed-loop crossover, 1/s.</summary>
    public const double CrossoverPerSec = 4;

    /// <summary>Sets both gains from the curve's mean slope between its end points.</summary>
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

    private static int Q8(double gain) => 1 << 24 <= gain * 256 ? 1 << 24 : (int)Math.Round(gain * 256);
}
