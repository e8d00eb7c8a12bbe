// Returns the hinge to the start of its travel and finds zero there. It knows the sequence, not the motor.

using Hourhinge.Firmware.Drives;
using Hourhinge.Firmware.Guards;
using Hourhinge.SharedMath.Profile;

namespace Hourhinge.Firmware.Control;

/// <summary>
/// With a home switch: fast backward with a trapezoid ramp until near the switch, at pull-in speed until it closes,
/// forward by the back-off distance, slowly backward until it closes again. The last closing is zero. Without one:
/// counted steps back to zero from a known position.
/// </summary>
public sealed class Rewinder
{
    /// <summary>Results of <see cref="Update"/>.</summary>
    public const int Running = 0, Done = 1, Failed = 2;

    private const int FastBack = 0, ToSwitch = 1, BackOff = 2, Approach = 3, Counted = 4;

    // Back-offs until a home switch that is still closed counts as stuck. The hard stop behind the switch must be
    // nearer.
    private const int MaxBackOffs = DriveProfile.MaxBackOffs;

    // Assumed error of the uncounted run when counted steps take over, per cent.
    private const int RunSlackPercent = 5;

    // How far beyond a known position's zero the switch is still looked for: an eighth of the travel, for lost steps;
    // a quarter for a position that is only an estimate.
    private const int CountedMarginPart = 8, EstimatedMarginPart = 4;

    // A motor that has not changed its count for this long does not move.
    private const long StandstillUs = 5000000;

    private readonly MotorDrive _drive;
    private DriveProfile _profile;
    private int _phase;
    private long _phaseTarget;
    private long _deadlineUs;
    private long _runUs;
    private long _speed;
    private long _fractionMicro;
    private long _fullTravel;
    private long _lowest;
    private long _lastPosition;
    private long _lastProgressUs;

    /// <summary>Rewinds this motor.</summary>
    public Rewinder(MotorDrive drive)
    {
        _drive = drive;
    }

    /// <summary>Why the rewind failed: one of the fault reasons of <see cref="Fault"/>.</summary>
    public int FailedWith { get; private set; }

    /// <summary>True while <see cref="MotorDrive.Position"/> is only an estimate.</summary>
    public bool PositionIsEstimate { get; private set; }

    /// <summary>Starts. The caller has made sure that the position is known or that a home switch is fitted.</summary>
    public void Begin(DriveProfile profile, long fullTravelCounts, bool positionKnown, bool atHome, long nowUs)
    {
        _profile = profile;
        _fullTravel = fullTravelCounts;
        PositionIsEstimate = !positionKnown;
        int part = profile.DriveKind == DriveProfile.DcOpenLoop ? EstimatedMarginPart : CountedMarginPart;
        long margin = (fullTravelCounts / part) + (2L * profile.BackOffCounts);
        _lowest = positionKnown ? -margin : _drive.Position - fullTravelCounts - margin;
        _lastPosition = _drive.Position;
        _lastProgressUs = nowUs;
        _drive.Engage(nowUs);
        if (!profile.Has(DriveProfile.HomeSwitchFitted))
        {
            Enter(Counted, _drive.Position, nowUs);
            return;
        }

        if (atHome)
        {
            EnterBackOff(nowUs);
            return;
        }

        bool fast = positionKnown && _drive.HasUncountedRun && profile.RewindCountsPerSec > profile.PullInCountsPerSec
            && _drive.Position > 4L * profile.BackOffCounts;
        _speed = profile.PullInCountsPerSec;
        _runUs = nowUs;
        _fractionMicro = 0;
        Enter(fast ? FastBack : ToSwitch, positionKnown ? _drive.Position : fullTravelCounts, nowUs);
    }

    /// <summary>One pass of a rewind.</summary>
    public int Update(bool atHome, long nowUs)
    {
        if (!IsInTime(nowUs))
        {
            return Fail(Fault.HomeNotFound);
        }

        switch (_phase)
        {
            case FastBack:
                RunFast(atHome, nowUs);
                return Running;
            case ToSwitch:
                if (atHome)
                {
                    EnterBackOff(nowUs);
                    return Running;
                }

                if (_drive.Position <= _lowest)
                {
                    return Fail(Fault.HomeNotFound);
                }

                MoveBack(_profile.PullInCountsPerSec, _lowest, nowUs);
                return Running;
            case BackOff:
                return UpdateBackOff(atHome, nowUs);
            case Approach:
                if (atHome)
                {
                    _drive.Position = 0;
                    PositionIsEstimate = false;
                    return Done;
                }

                if (_drive.Position <= _phaseTarget)
                {
                    return Fail(Fault.HomeNotFound);
                }

                // The drive looks at the switch before each step, so no step follows its closing.
                MoveBack(_profile.ApproachCountsPerSec, _phaseTarget, nowUs);
                return Running;
            default:
                if (_drive.HasReached(0))
                {
                    return Done;
                }

                _drive.MoveToward(0, _profile.PullInCountsPerSec, nowUs);
                return Running;
        }
    }

    private int UpdateBackOff(bool atHome, long nowUs)
    {
        if (_drive.Position < _phaseTarget)
        {
            _drive.MoveToward(_phaseTarget, _profile.PullInCountsPerSec, nowUs);
            return Running;
        }

        if (atHome)
        {
            if (_drive.Position >= MaxBackOffCounts)
            {
                return Fail(Fault.HomeStuck);
            }

            // The switch is still closed: another back-off from here.
            long next = _drive.Position + _profile.BackOffCounts;
            _phaseTarget = next < MaxBackOffCounts ? next : MaxBackOffCounts;
            return Running;
        }

        // The switch must close again within twice the back-off.
        Enter(Approach, 3L * _profile.BackOffCounts, nowUs);
        _phaseTarget = _drive.Position - (2L * _profile.BackOffCounts) - _drive.ApproachLeadCounts;
        return Running;
    }

    // Trapezoid: the speed rises by the ramp in each pass and is limited by the braking distance v²/2a to the switch.
    private void RunFast(bool atHome, long nowUs)
    {
        long elapsed = nowUs - _runUs;
        _runUs = nowUs;
        _fractionMicro += _speed * elapsed;
        _drive.Position -= _fractionMicro / 1000000;
        _fractionMicro %= 1000000;
        PositionIsEstimate = true;

        long slack = (_phaseTarget * RunSlackPercent / 100) + _profile.BackOffCounts;
        long distance = _drive.Position - slack;
        if (atHome || distance <= 0)
        {
            _drive.Stop(false);
            Enter(ToSwitch, slack * 2, nowUs);
            return;
        }

        _speed += _profile.RampCountsPerSec2 * elapsed / 1000000;
        long brake = SquareRoot(2L * _profile.RampCountsPerSec2 * distance);
        _speed = _speed < brake ? _speed : brake;
        _speed = _speed < _profile.RewindCountsPerSec ? _speed : _profile.RewindCountsPerSec;
        _speed = _speed > _profile.PullInCountsPerSec ? _speed : _profile.PullInCountsPerSec;
        _drive.RunBack((int)_speed);
    }

    private void EnterBackOff(long nowUs)
    {
        _drive.Stop(false);
        // One reading of a switch, which may bounce or be touched: until the approach confirms it, the position is an
        // estimate.
        _drive.Position = 0;
        PositionIsEstimate = true;
        Enter(BackOff, _profile.BackOffCounts < _fullTravel ? _profile.BackOffCounts : _fullTravel, nowUs);
    }

    private long MaxBackOffCounts
    {
        get
        {
            long most = (long)MaxBackOffs * _profile.BackOffCounts;
            return most < _fullTravel ? most : _fullTravel;
        }
    }

    // A target a second ahead, so that a DC drive does not slow down before the switch, and never below the limit.
    private void MoveBack(int countsPerSec, long lowest, long nowUs)
    {
        long target = _drive.Position - countsPerSec - _drive.ApproachLeadCounts;
        _drive.MoveToward(target > lowest ? target : lowest, countsPerSec, nowUs);
    }

    // Steps are counted, so every phase of a stepper ends by distance, however slow the loop is; only a standstill
    // needs a clock. A DC motor's speed does not depend on the loop, so its phases have a deadline too.
    private bool IsInTime(long nowUs)
    {
        if (_drive.Position != _lastPosition)
        {
            _lastPosition = _drive.Position;
            _lastProgressUs = nowUs;
        }

        return nowUs - _lastProgressUs <= StandstillUs
            && (_profile.DriveKind == DriveProfile.Stepper || nowUs <= _deadlineUs);
    }

    // The deadline: twice the time that the distance should take, plus five seconds.
    private void Enter(int phase, long distanceCounts, long nowUs)
    {
        _phase = phase;
        _phaseTarget = distanceCounts;
        int speed = phase == Approach ? _profile.ApproachCountsPerSec : _profile.PullInCountsPerSec;
        long distance = phase == ToSwitch || phase == FastBack
            ? _fullTravel + (2L * _profile.BackOffCounts)
            : distanceCounts;
        distance = phase == BackOff ? (long)MaxBackOffs * distanceCounts : distance < 0 ? -distance : distance;
        _deadlineUs = nowUs + 5000000 + (2000000 * distance / speed);
    }

    private int Fail(int reason)
    {
        FailedWith = reason;
        return Failed;
    }

    private static long SquareRoot(long value)
    {
        long root = 0;
        for (long bit = 1L << 31; bit != 0; bit >>= 1)
        {
            long trial = root + bit;
            root = trial * trial <= value ? trial : root;
        }

        return root;
    }
}
