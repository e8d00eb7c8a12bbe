// The measured speed curve of a DC motor, interpolated linearly in both directions. Integers only.

using Hourhinge.SharedMath.Profile;

namespace Hourhinge.Firmware.Drives;

/// <summary>Duty in 1/10000 at the curve's own supply voltage; speed in 1/1000 count a second. All values &gt;=
/// 0.</summary>
public static class SpeedCurve
{
    /// <summary>Full duty.</summary>
    public const int FullDuty = 10000;

    /// <summary>
    /// Duty for a speed: 0 for 0; below the first point the first point's duty, because the motor cannot turn slower;
    /// beyond the last point extrapolated, at most four times full duty, so that a caller detects saturation.
    /// </summary>
    public static int DutyFor(DcSettings dc, long milliCountsPerSec)
    {
        int[] speeds = dc.CurveMilliCountsPerSec;
        if (milliCountsPerSec <= 0)
        {
            return 0;
        }

        if (milliCountsPerSec <= speeds[0])
        {
            return dc.CurveDuty[0];
        }

        int i = 1;
        while (i < speeds.Length - 1 && milliCountsPerSec > speeds[i])
        {
            i++;
        }

        long rise = dc.CurveDuty[i] - dc.CurveDuty[i - 1];
        long run = speeds[i] - speeds[i - 1];
        long duty = dc.CurveDuty[i - 1] + ((((milliCountsPerSec - speeds[i - 1]) * rise) + (run / 2)) / run);
        return duty > 4 * FullDuty ? 4 * FullDuty : (int)duty;
    }

    /// <summary>Speed at a duty: 0 below the first point, extrapolated beyond the last point.</summary>
    public static long SpeedAt(DcSettings dc, int duty)
    {
        int[] duties = dc.CurveDuty;
        if (duty < duties[0])
        {
            return 0;
        }

        int i = 1;
        while (i < duties.Length - 1 && duty > duties[i])
        {
            i++;
        }

        long rise = dc.CurveMilliCountsPerSec[i] - dc.CurveMilliCountsPerSec[i - 1];
        return dc.CurveMilliCountsPerSec[i - 1] + ((duty - duties[i - 1]) * rise / (duties[i] - duties[i - 1]));
    }
}
