// Measures how late the steps are.

using Hourhinge.SharedMath.Profile;

namespace Hourhinge.Firmware.Control;

/// <summary>Worst and mean lateness of the motor behind the profile, microseconds, since tracking started.</summary>
public sealed class LatenessMeter
{
    // 67 million counts: keeps the product below within 63 bits.
    private const long MaxQ16 = 1L << 42;

    private long _sumUs;
    private long _steps;

    /// <summary>Worst so far, µs.</summary>
    public long WorstUs { get; private set; }

    /// <summary>Mean over the passes so far in which a step was due, µs.</summary>
    public long MeanUs => _steps == 0 ? 0 : _sumUs / _steps;

    /// <summary>Restarts the statistics.</summary>
    public void Reset()
    {
        _sumUs = 0;
        _steps = 0;
        WorstUs = 0;
    }

    /// <summary>
    /// Records one pass, before its steps: how long ago the next step became due. Lateness is 0 until the profile is
    /// half a count ahead of the motor.
    /// </summary>
    /// <param name="errorQ16">How far the profile is ahead of the motor, Q16 counts.</param>
    /// <param name="rateQ16PerSec">The profile's rate.</param>
    public void Record(long errorQ16, long rateQ16PerSec)
    {
        long behindQ16 = errorQ16 - (DriveProfile.OneCount / 2);
        if (behindQ16 <= 0)
        {
            return;
        }

        behindQ16 = behindQ16 > MaxQ16 ? MaxQ16 : behindQ16;
        long lateUs = rateQ16PerSec > 0 ? behindQ16 * 1000000 / rateQ16PerSec : 0;
        WorstUs = lateUs > WorstUs ? lateUs : WorstUs;
        _sumUs += lateUs;
        _steps++;
    }
}
