// Open-loop DC drive: the measured speed curve and the supply voltage instead of an encoder. The bridge is DcDrive.cs.

using Hourhinge.Firmware.Guards;
using Hourhinge.Firmware.Hardware;
using Hourhinge.SharedMath.Profile;

namespace Hourhinge.Firmware.Drives;

/// <summary>
/// The replacement for a fixed-voltage regulator. A drive count is a thousandth of a motor turn. The position is an
/// ESTIMATE, the integral of the commanded speed: it knows the sag of the supply and not a change of the load, so it
/// is as good as the speed curve (README and hardware-notes say what that means in arcseconds).
/// </summary>
public sealed class OpenLoopDrive : DcDrive
{
    private const long NanoPerCount = 1000000000;

    // A motor at rest gets its break-away duty for this long.
    private const long KickUs = 60000;

    private long _lastUs;
    private long _nanoCounts;
    private long _speedMilli;
    private long _kickUntilUs;

    /// <summary>Takes the bridge over.</summary>
    public OpenLoopDrive(IPwmOutput output, LimitSwitches limits, SupplyMonitor supply)
        : base(output, limits, supply)
    {
    }

    /// <inheritdoc/>
    public override bool IsPositionEstimate => true;

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

        // The rate due, and what the estimate is behind by within half a second.
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

    // Adds what the motor has turned since the last pass, exactly: thousandths × microseconds = 10^-9 counts.
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
        // Slower than the motor can turn: stand still for the smaller half, turn slowly for the larger. The estimate
        // makes the two alternate so that the mean is right.
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

        // Push lets nothing pass a closed switch: then the motor does not turn.
        _speedMilli = Direction == 0 ? 0 : Direction > 0 ? milli : -milli;
    }
}
