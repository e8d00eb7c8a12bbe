// The controller's states and its commands. It knows profiles, positions and switches; it does not know the protocol
// (Instrument.cs), flash (ProfileStore.cs) or any pin (firmware/board). The passes are ControllerUpdate.cs.

using Hourhinge.Firmware.Drives;
using Hourhinge.Firmware.Guards;
using Hourhinge.Firmware.Hardware;
using Hourhinge.SharedMath.Profile;

namespace Hourhinge.Firmware.Control;

/// <summary>
/// Compares the due position with the motor's position in every pass. A command returns null when it was executed, or
/// an error text. All calls come from the loop's thread.
/// </summary>
public sealed partial class Controller
{
    // A home switch that closes beyond this many back-offs from the start means lost steps.
    private const int HomeMarginBackOffs = 3;
    private const long RateWindowUs = 1000000;

    private const string NoWayBack = "position unknown and no home switch: turn the hinge back by hand and declare it "
        + "(MOTion:POSition:DECLare 0)";

    // When the end is not reached this long after the end of the profile, tracking ends anyway.
    private const long MaxCatchUpUs = 5000000;

    private readonly IClock _clock;
    private readonly LimitSwitches _limits;
    private readonly SupplyMonitor _supply;
    private readonly Rewinder _rewinder;
    private readonly ProfileClock _profileClock = new ProfileClock();
    private ProfileEvaluator _evaluator;
    private bool _hasResumePoint;
    private long _jogTarget;
    private long _rateAtUs;
    private long _rateQ16PerSec;

    /// <summary>A controller without a profile; it stands still.</summary>
    public Controller(IClock clock, MotorDrive drive, LimitSwitches limits, SupplyMonitor supply)
    {
        _clock = clock;
        _supply = supply;
        _limits = limits;
        Drive = drive;
        _rewinder = new Rewinder(drive);
        Lateness = new LatenessMeter();
    }

    /// <summary>The motor; read its position here.</summary>
    public MotorDrive Drive { get; }

    /// <summary>One of <see cref="ControllerState"/>.</summary>
    public int State { get; private set; }

    /// <summary>Reason of the fault; 0 outside the fault state.</summary>
    public int FaultReason { get; private set; }

    /// <summary>The exception's message of <see cref="Fault.Internal"/>; null for the other faults.</summary>
    public string FaultDetail { get; private set; }

    /// <summary>True while the drive's position is known.</summary>
    public bool IsPositionKnown { get; private set; }

    /// <summary>The profile in use; null when there is none.</summary>
    public DriveProfile Profile { get; private set; }

    /// <summary>How late the steps came.</summary>
    public LatenessMeter Lateness { get; }

    /// <summary>True while the motor may move.</summary>
    public bool IsMoving => State == ControllerState.Tracking || State == ControllerState.Rewinding
        || State == ControllerState.Jogging;

    /// <summary>Counts at the end of the travel.</summary>
    public long EndCounts => _evaluator == null ? 0 : _evaluator.EndQ16 >> DriveProfile.FractionBits;

    /// <summary>Offset added to the due position, counts: dither between frames.</summary>
    public long DitherCounts { get; set; }

    /// <summary>How far the motor was behind the due position in the last tracking pass, Q16 counts.</summary>
    public long ErrorQ16 { get; private set; }

    /// <summary>True while the motor is within one count or one arcsecond of the due position.</summary>
    public bool IsOnTarget
    {
        get
        {
            long off = ErrorQ16 < 0 ? -ErrorQ16 : ErrorQ16;
            long counts = off >> DriveProfile.FractionBits;
            return counts <= 1 || (counts <= 1000000 && counts * Profile.MicroArcsecPerCount <= 1000000);
        }
    }

    /// <summary>True when <see cref="Rewind"/> has a way back: a motor that can reverse, and a home switch or a known
    /// position.</summary>
    public bool CanRewind => Drive.CanReverse && (IsPositionKnown || _limits.HomeFitted);

    /// <summary>Profile time since the start of the travel, µs: running while tracking, else that of the
    /// position.</summary>
    public long ProfileUs
    {
        get
        {
            if (_evaluator == null || !IsPositionKnown)
            {
                return 0;
            }

            return State == ControllerState.Tracking
                ? _profileClock.At(_clock.NowMicroseconds)
                : _evaluator.TimeAtQ16(Drive.Position << DriveProfile.FractionBits);
        }
    }

    /// <summary>Profile time left until the end of the travel, µs; 0 when the position is unknown.</summary>
    public long RemainingUs
    {
        get
        {
            long left = _evaluator == null || !IsPositionKnown ? 0 : _evaluator.EndUs - ProfileUs;
            return left > 0 ? left : 0;
        }
    }

    /// <summary>Count due now by the profile; the position itself when not tracking.</summary>
    public long CountsDue => State == ControllerState.Tracking
        ? _evaluator.CountsDue(_profileClock.At(_clock.NowMicroseconds))
        : Drive.Position;

    /// <summary>
    /// Uses a profile; the controller is not moving. The start of the travel stays where it was, so a position of
    /// zero stays known; any other position was counted in the old profile's counts and becomes unknown unless the
    /// new profile moves the motor identically (another clock trim, another shutter program).
    /// </summary>
    public void UseProfile(DriveProfile profile)
    {
        bool alike = Profile != null && profile.MovesLike(Profile);
        Profile = profile;
        _evaluator = new ProfileEvaluator(profile);
        _limits.Configure(profile);
        Drive.Configure(profile);
        _supply.Configure(profile);
        _hasResumePoint = false;
        DitherCounts = 0;
        FaultReason = Fault.None;
        FaultDetail = null;
        if (_limits.AtHome)
        {
            Drive.Position = 0;
            IsPositionKnown = true;
        }
        else if (Drive.Position != 0 && !alike)
        {
            IsPositionKnown = false;
        }

        // Coils that the profile before kept energized are released now, not after the next motion.
        StopMotor(StateAtRest);
    }

    /// <summary>Starts tracking from the present position; with <paramref name="resume"/>, catches up to the position
    /// that is due now.</summary>
    public string Start(bool resume)
    {
        if (State == ControllerState.Tracking)
        {
            return null;
        }

        string error = MoveError();
        if (error == null && !IsPositionKnown)
        {
            error = "position unknown: rewind to the home switch or declare it (MOTion:POSition:DECLare 0)";
        }

        if (error == null && (State == ControllerState.EndOfTravel || Drive.Position >= EndCounts || _limits.AtEnd))
        {
            error = "at the end of the travel: rewind first";
        }

        if (error == null && resume && !_hasResumePoint)
        {
            error = "nothing to resume: tracking has not been stopped since the last rewind";
        }

        long now = _clock.NowMicroseconds;
        if (error == null && resume && _profileClock.At(now) >= _evaluator.EndUs)
        {
            error = "too late to resume: the position that is due now is beyond the end of the travel; INITiate starts "
                + "from here";
        }

        if (error != null)
        {
            return error;
        }

        if (!resume)
        {
            _profileClock.Start(now, _evaluator.TimeAtQ16(Drive.Position << DriveProfile.FractionBits),
                Profile.ClockTrimPpb);
        }

        _hasResumePoint = true;
        DitherCounts = 0;
        Lateness.Reset();
        _rateAtUs = now - RateWindowUs;
        Drive.Engage(now);
        State = ControllerState.Tracking;
        return null;
    }

    /// <summary>Stops any motion at once and clears a fault. Always executed.</summary>
    public void Abort()
    {
        if (State == ControllerState.Rewinding && _rewinder.PositionIsEstimate)
        {
            IsPositionKnown = false;
        }

        StopMotor(ControllerState.Idle);
        FaultReason = Fault.None;
        FaultDetail = null;
        State = StateAtRest;
    }

    /// <summary>Starts a rewind to the start of the travel. Also the way out of a fault.</summary>
    public string Rewind()
    {
        if (Profile == null)
        {
            return "no profile: upload one first";
        }

        if (State == ControllerState.Rewinding)
        {
            return null;
        }

        if (!Drive.CanReverse && !_limits.AtHome)
        {
            return "this drive cannot run backward: turn the hinge back by hand and declare it "
                + "(MOTion:POSition:DECLare 0)";
        }

        if (!IsPositionKnown && !_limits.HomeFitted)
        {
            return NoWayBack;
        }

        Abort();
        _hasResumePoint = false;
        if (!IsPositionKnown && !_limits.HomeFitted)
        {
            return NoWayBack; // The stop has shown that the steps were counted wrongly.
        }

        if (BothSwitches())
        {
            return Fault.Text(FaultReason);
        }

        if (_supply.IsLow)
        {
            return Fault.Text(Fault.SupplyLow);
        }

        if (!Drive.CanReverse)
        {
            Drive.Position = 0;
            IsPositionKnown = true;
            return null;
        }

        _rewinder.Begin(Profile, EndCounts, IsPositionKnown, _limits.AtHome, _clock.NowMicroseconds);
        State = ControllerState.Rewinding;
        return null;
    }

    /// <summary>Moves by some counts at the pull-in speed, within the travel where the position is known.</summary>
    public string Jog(long counts)
    {
        string error = MoveError();
        if (error == null && IsMoving)
        {
            error = "moving: abort first";
        }

        if (error == null && counts < 0 && !Drive.CanReverse)
        {
            error = "this drive cannot run backward";
        }

        long target = Drive.Position + counts;
        if (error == null && IsPositionKnown && (target < 0 || target > EndCounts))
        {
            error = "that would leave the travel, which is 0 to " + EndCounts + " counts; now at " + Drive.Position;
        }

        // With an unknown position a jog is limited to one travel, so that a rewind still finds home before its
        // deadline.
        if (error == null && !IsPositionKnown && (target < -EndCounts || target > EndCounts))
        {
            error = "position unknown: a jog may not lead beyond " + EndCounts
                + " counts from where it was switched on";
        }

        if (error == null)
        {
            _hasResumePoint = false;
            _jogTarget = target;
            Drive.Engage(_clock.NowMicroseconds);
            State = ControllerState.Jogging;
        }

        return error;
    }

    /// <summary>Sets the position that the hinge is now in.</summary>
    public string DeclarePosition(long counts)
    {
        if (Profile == null)
        {
            return "no profile: upload one first";
        }

        if (IsMoving)
        {
            return "moving: abort first";
        }

        if (counts < 0 || counts > EndCounts)
        {
            return "position must be 0 to " + EndCounts + " counts";
        }

        Drive.Position = counts;
        IsPositionKnown = true;
        _hasResumePoint = false;
        if (State != ControllerState.Fault)
        {
            State = counts >= EndCounts ? ControllerState.EndOfTravel : ControllerState.Idle;
        }

        return null;
    }

    /// <summary>Stops everything for a reason; Machine also calls it for an unhandled exception.</summary>
    public void Fail(int reason, string detail)
    {
        if (State == ControllerState.Rewinding && _rewinder.PositionIsEstimate)
        {
            IsPositionKnown = false;
        }

        if (reason == Fault.Stall || reason == Fault.HomeInMidTravel || reason == Fault.HomeStuck
            || reason == Fault.Internal || reason == Fault.HomeNotFound || reason == Fault.EncoderReversed
            || reason == Fault.StepCount)
        {
            IsPositionKnown = false;
        }

        StopMotor(ControllerState.Fault);
        FaultReason = reason;
        FaultDetail = detail;
    }

    private int StateAtRest => IsPositionKnown && Profile != null && Drive.Position >= EndCounts
        ? ControllerState.EndOfTravel
        : ControllerState.Idle;

    private string MoveError()
    {
        if (Profile == null)
        {
            return "no profile: upload one first";
        }

        if (State == ControllerState.Fault)
        {
            return "fault: " + Fault.Text(FaultReason) + "; ABORt clears it";
        }

        if (State == ControllerState.Rewinding)
        {
            return "rewinding: wait or ABORt";
        }

        if (_supply.IsLow)
        {
            return Fault.Text(Fault.SupplyLow);
        }

        return BothSwitches() ? Fault.Text(FaultReason) : null;
    }
}
