// What the controller does in every pass of the loop: the motion path. What it is told to do: Controller.cs.

using Hourhinge.Firmware.Guards;
using Hourhinge.SharedMath.Profile;

namespace Hourhinge.Firmware.Control;

/// <content>The passes.</content>
public sealed partial class Controller
{
    /// <summary>One pass of the motion: the first thing in every pass of the loop.</summary>
    public void Pass()
    {
        if (!IsMoving)
        {
            return;
        }

        long now = _clock.NowMicroseconds;
        if (BothSwitches())
        {
            return;
        }

        int trouble = _supply.IsLow ? Fault.SupplyLow : Drive.FaultNow(now);
        if (trouble != Fault.None)
        {
            Fail(trouble, null);
            return;
        }

        switch (State)
        {
            case ControllerState.Tracking:
                PassTracking(now);
                break;
            case ControllerState.Rewinding:
                PassRewinding(now);
                break;
            default:
                PassJogging(now);
                break;
        }
    }

    private void PassTracking(long now)
    {
        if (_limits.AtEnd)
        {
            StopMotor(ControllerState.EndOfTravel);
            return;
        }

        if (_limits.AtHome && Drive.Position > (long)HomeMarginBackOffs * Profile.BackOffCounts)
        {
            Fail(Fault.HomeInMidTravel, null);
            return;
        }

        long profileUs = _profileClock.At(now);
        long dueQ16 = _evaluator.PositionQ16(profileUs);
        if (now - _rateAtUs >= RateWindowUs)
        {
            _rateAtUs = now;
            _rateQ16PerSec = _evaluator.PositionQ16(profileUs + RateWindowUs) - dueQ16;
        }

        dueQ16 += DitherCounts << DriveProfile.FractionBits;
        if (dueQ16 > _evaluator.EndQ16)
        {
            dueQ16 = _evaluator.EndQ16;
        }

        ErrorQ16 = dueQ16 - (Drive.Position << DriveProfile.FractionBits);
        Lateness.Note(dueQ16, Drive.Position, _rateQ16PerSec);
        Drive.Follow(dueQ16, _rateQ16PerSec, now);
        if (profileUs >= _evaluator.EndUs
            && (Drive.HasReached(EndCounts) || Drive.Position >= EndCounts
                || profileUs >= _evaluator.EndUs + LongestCatchUpUs))
        {
            StopMotor(ControllerState.EndOfTravel);
        }
    }

    private void PassRewinding(long now)
    {
        int result = _rewinder.Pass(_limits.AtHome, _limits.AtEnd && _limits.AtHome, now);
        if (result == Rewinder.Failed)
        {
            Fail(_rewinder.FailedWith, null);
        }
        else if (result == Rewinder.Done)
        {
            IsPositionKnown = true;
            StopMotor(ControllerState.Idle);
        }
    }

    private void PassJogging(long now)
    {
        bool blocked = _jogTarget > Drive.Position ? _limits.AtEnd : _limits.AtHome;
        if (Drive.HasReached(_jogTarget) || blocked)
        {
            bool atEnd = IsPositionKnown && Drive.Position >= EndCounts;
            StopMotor(atEnd || _limits.AtEnd ? ControllerState.EndOfTravel : ControllerState.Idle);
            return;
        }

        Drive.MoveToward(_jogTarget, Profile.PullInCountsPerSec, now);
    }

    private bool BothSwitches()
    {
        if (!_limits.AtHome || !_limits.AtEnd)
        {
            return false;
        }

        Fail(Fault.BothSwitches, null);
        return true;
    }

    private void StopMotor(int state)
    {
        Drive.Stop(Profile != null && Profile.Has(DriveProfile.ReleaseWhenIdle));
        State = state;
    }
}
