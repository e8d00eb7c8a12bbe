// What the controller does in every pass of the loop: the motion path. Its commands are Controller.cs.

using Hourhinge.Firmware.Guards;
using Hourhinge.SharedMath.Profile;

namespace Hourhinge.Firmware.Control;

/// <content>The passes.</content>
public sealed partial class Controller
{
    /// <summary>One pass of the motion: the first thing in every pass of the loop.</summary>
    public void Update()
    {
        if (!IsMoving)
        {
            return;
        }

        long now = _clock.NowMicroseconds;
        bool atHome = _limits.AtHome;
        bool atEnd = _limits.AtEnd;
        if (atHome && atEnd)
        {
            Fail(Fault.BothSwitches, null);
            return;
        }

        int fault = _supply.IsLow ? Fault.SupplyLow : Drive.FaultNow(now);
        if (fault != Fault.None)
        {
            Fail(fault, null);
            return;
        }

        switch (State)
        {
            case ControllerState.Tracking:
                UpdateTracking(now, atHome, atEnd);
                break;
            case ControllerState.Rewinding:
                UpdateRewinding(now, atHome);
                break;
            default:
                UpdateJogging(now, atHome, atEnd);
                break;
        }
    }

    private void UpdateTracking(long now, bool atHome, bool atEnd)
    {
        if (atEnd)
        {
            StopMotor(ControllerState.EndOfTravel);
            return;
        }

        long position = Drive.Position;
        if (atHome && position > (long)HomeMarginBackOffs * Profile.BackOffCounts)
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

        ErrorQ16 = dueQ16 - (position << DriveProfile.FractionBits);
        // In the last second the window of the rate reaches beyond the end, and the rate is too small to divide by.
        if (profileUs + RateWindowUs <= _evaluator.EndUs)
        {
            Lateness.Record(ErrorQ16, _rateQ16PerSec);
        }

        Drive.Follow(dueQ16, _rateQ16PerSec, now);
        if (profileUs >= _evaluator.EndUs
            && (Drive.HasReached(EndCounts) || Drive.Position >= EndCounts
                || profileUs >= _evaluator.EndUs + MaxCatchUpUs))
        {
            StopMotor(ControllerState.EndOfTravel);
        }
    }

    private void UpdateRewinding(long now, bool atHome)
    {
        int result = _rewinder.Update(atHome, now);
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

    private void UpdateJogging(long now, bool atHome, bool atEnd)
    {
        bool blocked = _jogTarget > Drive.Position ? atEnd : atHome;
        if (Drive.HasReached(_jogTarget) || blocked)
        {
            bool isLast = IsPositionKnown && Drive.Position >= EndCounts;
            StopMotor(isLast || atEnd ? ControllerState.EndOfTravel : ControllerState.Idle);
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
        if (Drive.HasLostPosition)
        {
            IsPositionKnown = false;
        }
    }
}
