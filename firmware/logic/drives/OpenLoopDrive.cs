// Open-loop DC drive: the measured speed curve and the supply voltage instead of an encoder. The bridge is DcDrive.cs.

using Hourhinge.Firmware.Guards;
using Hourhinge.Firmware.Hardware;
using Hourhinge.SharedMath.Profile;

namespace Hourhinge.Firmware.Drives;

/// <summary>
/// A drive count is a part of a motor turn that the profile's maker chose. The position is an estimate, the integral of
/// the commanded speed:
/// it accounts for the supply voltage but not for a change of the load, so its error is that of the speed curve
/// (README and hardware-notes give it in arcseconds).
/// </summary>
public sealed class OpenLoopDrive : DcDrive
{
    private const long NanoPerCount = 1000000000;

    // Duration of the break-away duty for a motor at rest.
    private const long KickUs = 60000;

    private long _lastUs;
    private long _nanoCounts;
    private long _speedMilli;
    private long _kickUntilUs;

    /// <summary>Owns the bridge.</summary>
    public OpenLoopDrive(IPwmOutput output, LimitSwitches limits, SupplyMonitor supply)
        : base(output, limits, supply)
    {
    }

    /// <inheritdoc/>
    public override void Engage(long nowUs)
    {
        _lastUs = nowUs;
        _speedMilli = 0;
    }

    /// <inheritdoc/>
    public override void Follow(long dueQ16, long rateQ16PerSec, long nowUs)
    {
        Integrate(nowUs);

        // The due rate, plus the error of the estimate divided by half a second.
        long behindQ16 = dueQ16 - (Position << DriveProfile.FractionBits)
            - (_nanoCounts * DriveProfile.OneCount / NanoPerCount);
        long max = 1000L << DriveProfile.FractionBits;
        behindQ16 = behindQ16 > max ? max : behindQ16 < -max ? -max : behindQ16;
        long milli = ((rateQ16PerSec + (2 * behindQ16)) * 1000) >> DriveProfile.FractionBits;
        Run(milli < 0 ? 0 : milli, true, nowUs);
    }

    /// <inheritdoc/>
    public override void MoveToward(long target, int countsPerSec, long nowUs)
    {
        Integrate(nowUs);
        long distance = target > Position ? target - Position : Position - target;
        Run(distance == 0 ? 0 : SpeedToward(distance, countsPerSec) * 1000, target > Position, nowUs);
    }

    /// <inheritdoc/>
    public override void Stop(bool release)
    {
        base.Stop(release);
        _speedMilli = 0;
    }

    // Adds the motion since the last pass, exactly: thousandths × microseconds = 10^-9 counts.
    private void Integrate(long nowUs)
    {
        long elapsed = nowUs - _lastUs;
        _lastUs = nowUs;
        _nanoCounts += _speedMilli * elapsed;
        Position += _nanoCounts / NanoPerCount;
        _nanoCounts %= NanoPerCount;
    }

    private void Run(long milli, bool forward, long nowUs)
    {
        // Below the motor's slowest speed: stop for less than half of it, else run at it. The feedback from the
        // estimate alternates the two so that the mean is correct.
        long slowest = Settings.CurveMilliCountsPerSec[0];
        milli = milli < slowest ? (milli * 2 < slowest ? 0 : slowest) : milli;
        int duty = SpeedCurve.DutyFor(Settings, milli);
        int max = MaxDuty;
        if (duty > max)
        {
            duty = max;
            milli = SpeedCurve.SpeedAt(Settings, max);
        }

        if (milli > 0 && _speedMilli == 0)
        {
            _kickUntilUs = nowUs + KickUs;
        }

        if (milli > 0 && nowUs < _kickUntilUs && duty < Settings.BreakAwayDuty)
        {
            duty = Settings.BreakAwayDuty;
        }

        SetDuty(forward ? duty : -duty);

        // At a closed switch SetDuty outputs 0: then the motor does not turn.
        _speedMilli = Direction == 0 ? 0 : Direction > 0 ? milli : -milli;
    }
}
