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

    // Larger than ProfileSafety allows, 1/1000 count a second.
    private const int MaxSpeed = int.MaxValue;

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

    /// <summary>A copy of a drive's constants with every speed in other counts, and the gains that belong to
    /// them.</summary>
    /// <param name="dc">The constants.</param>
    /// <param name="ratio">New counts in one old count.</param>
    public static DcSettings InOtherCounts(DcSettings dc, double ratio)
    {
        DcSettings other = new DcSettings();
        other.CurveMillivolts = dc.CurveMillivolts;
        other.CurveDuty = dc.CurveDuty;
        other.BreakAwayDuty = dc.BreakAwayDuty;
        other.MinMillivolts = dc.MinMillivolts;
        other.CurveMilliCountsPerSec = new int[dc.CurveMilliCountsPerSec.Length];
        for (int i = 0; i < other.CurveMilliCountsPerSec.Length; i++)
        {
            double speed = dc.CurveMilliCountsPerSec[i] * ratio;
            other.CurveMilliCountsPerSec[i] = MaxSpeed < speed ? MaxSpeed : (int)Math.Round(speed);
        }

        SetGains(other);
        return other;
    }

    private static int Q8(double gain) => 1 << 24 <= gain * 256 ? 1 << 24 : (int)Math.Round(gain * 256);
}
