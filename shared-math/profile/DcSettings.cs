// A DC gear motor's measured speed curve and loop gains. Integers only.

namespace Hourhinge.SharedMath.Profile;

/// <summary>
/// A DC drive's constants. A count is an encoder count (closed loop) or a part of a motor turn that the profile's maker
/// chose (open loop); duty in 1/10000, all duties as measured at <see cref="CurveMillivolts"/>.
/// </summary>
public sealed class DcSettings
{
    /// <summary>Supply at which the speed curve was measured, mV.</summary>
    public int CurveMillivolts;

    /// <summary>Speed curve: duty, rising, 1/10000. The first point is where the motor just keeps turning.</summary>
    public int[] CurveDuty = new int[0];

    /// <summary>Speed curve: speed at that duty, rising, 1/1000 count a second.</summary>
    public int[] CurveMilliCountsPerSec = new int[0];

    /// <summary>Duty that breaks the motor loose from rest at the curve's voltage, 1/10000.</summary>
    public int BreakAwayDuty;

    /// <summary>Proportional gain: duty per count of error, Q8.</summary>
    public int ProportionalQ8;

    /// <summary>Integral gain: duty per count of error per second, Q8.</summary>
    public int IntegralQ8;

    /// <summary>Minimum supply at which the drive may run, mV; below it the motion ends with a fault.</summary>
    public int MinMillivolts;
}
