// Closed-loop DC drive: controls encoder counts to the due position. The control law is PositionLoop.cs, stall
// detection RotorWatch.cs, the bridge DcDrive.cs.

using Hourhinge.Firmware.Guards;
using Hourhinge.Firmware.Hardware;
using Hourhinge.SharedMath.Profile;

namespace Hourhinge.Firmware.Drives;

/// <summary>
/// While tracking it never drives backward: the nut's friction holds the hinge, and waiting avoids hunting across the
/// backlash. A rotor that is at rest although it should turn gets the break-away duty, rising to full duty within a
/// second, until it counts.
/// </summary>
public sealed class EncoderDrive : DcDrive
{
    // The commanded position of a move stays this close to the motor, so that it does not run ahead during a jam.
    private const int MinLeadCounts = 16;

    private readonly IEncoder _encoder;
    private readonly PositionLoop _loop = new PositionLoop();
    private readonly RotorWatch _watch = new RotorWatch();
    private long _origin;
    private int _sense = 1;
    private long _lastUs;
    private long _commandQ16;
    private long _commandRest;

    /// <summary>Owns bridge and encoder.</summary>
    public EncoderDrive(IPwmOutput output, IEncoder encoder, LimitSwitches limits, SupplyMonitor supply)
        : base(output, limits, supply)
    {
        _encoder = encoder;
    }

    /// <inheritdoc/>
    public override long Position
    {
        get => (_sense * _encoder.Counts) - _origin;
        set
        {
            _origin = (_sense * _encoder.Counts) - value;
            _commandQ16 = value << DriveProfile.FractionBits;
            _watch.Reset(value, _lastUs);
        }
    }

    /// <inheritdoc/>
    public override void Configure(DriveProfile profile)
    {
        long position = Position;
        base.Configure(profile);
        _sense = profile.Has(DriveProfile.MotorReversed) ? -1 : 1;
        _loop.Configure(profile.Dc);
        Position = position;
    }

    /// <inheritdoc/>
    public override void Engage(long nowUs)
    {
        _lastUs = nowUs;
        _loop.Reset();
        _watch.Reset(Position, nowUs);
        _commandQ16 = Position << DriveProfile.FractionBits;
        _commandRest = 0;
    }

    /// <inheritdoc/>
    public override void Follow(long dueQ16, long rateQ16PerSec, long nowUs)
    {
        long position = Position;
        long errorQ16 = dueQ16 - (position << DriveProfile.FractionBits);
        long elapsed = Elapsed(nowUs);
        int forward = SpeedCurve.DutyFor(Settings, (rateQ16PerSec * 1000) >> DriveProfile.FractionBits);
        int duty = _loop.Duty(errorQ16, forward, elapsed, 0, MaxDuty);

        // Ahead by less than a quarter second: slow down but keep turning, so that no break-away is needed.
        int keepTurning = Settings.CurveDuty[0];
        if (duty < keepTurning)
        {
            duty = rateQ16PerSec > 0 && errorQ16 > -(rateQ16PerSec / 4) - DriveProfile.OneCount ? keepTurning : 0;
        }

        SetDutyOrBreakAway(duty, position, errorQ16 >> DriveProfile.FractionBits, nowUs);
    }

    /// <inheritdoc/>
    public override void MoveToward(long target, int countsPerSec, long nowUs)
    {
        long position = Position;
        long elapsed = Elapsed(nowUs);
        bool ahead = target > position;
        long distance = ahead ? target - position : position - target;
        if (distance == 0)
        {
            SetDuty(0);
            return;
        }

        long speed = SpeedToward(distance, countsPerSec);
        AdvanceCommand(ahead ? speed : -speed, elapsed, position, target);
        long errorQ16 = _commandQ16 - (position << DriveProfile.FractionBits);
        int forward = SpeedCurve.DutyFor(Settings, speed * 1000);
        int max = MaxDuty;
        int duty = _loop.Duty(errorQ16, ahead ? forward : -forward, elapsed, ahead ? 0 : -max, ahead ? max : 0);
        long behind = (ahead ? errorQ16 : -errorQ16) >> DriveProfile.FractionBits;
        SetDutyOrBreakAway(duty, position, behind, nowUs);
    }

    /// <inheritdoc/>
    public override void Stop(bool release)
    {
        base.Stop(release);
        _watch.Reset(Position, _lastUs);
    }

    /// <inheritdoc/>
    public override int FaultNow(long nowUs) => _watch.FaultReason;

    private long Elapsed(long nowUs)
    {
        long elapsed = nowUs - _lastUs;
        _lastUs = nowUs;
        return elapsed > MaxUpdateIntervalUs ? MaxUpdateIntervalUs : elapsed;
    }

    private void SetDutyOrBreakAway(int duty, long position, long behindCounts, long nowUs)
    {
        if (_watch.RestingUs > 0 && duty != 0)
        {
            long kick = Settings.BreakAwayDuty
                + ((SpeedCurve.FullDuty - Settings.BreakAwayDuty) * _watch.RestingUs / 1000000);
            kick = kick > SpeedCurve.FullDuty ? SpeedCurve.FullDuty : kick;
            duty = duty > 0 ? (kick > duty ? (int)kick : duty) : (-kick < duty ? (int)-kick : duty);
        }

        SetDuty(duty);
        _watch.Record(position, behindCounts, Direction, nowUs);
    }

    // Moves the commanded position toward the target at the speed, exactly, and holds it when the motor does not
    // follow.
    private void AdvanceCommand(long countsPerSec, long elapsedUs, long position, long target)
    {
        _commandRest += countsPerSec * DriveProfile.OneCount * elapsedUs;
        _commandQ16 += _commandRest / 1000000;
        _commandRest %= 1000000;
        long lead = (countsPerSec < 0 ? -countsPerSec : countsPerSec) / 4;
        lead = lead < MinLeadCounts ? MinLeadCounts : lead;
        long min =
            (countsPerSec < 0 && target > position - lead ? target : position - lead) << DriveProfile.FractionBits;
        long max =
            (countsPerSec > 0 && target < position + lead ? target : position + lead) << DriveProfile.FractionBits;
        _commandQ16 = _commandQ16 < min ? min : _commandQ16 > max ? max : _commandQ16;
    }
}
