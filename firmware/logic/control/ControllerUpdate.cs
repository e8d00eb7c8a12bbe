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
        if (BothSwitches())
        {
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
                UpdateTracking(now);
                break;
            case ControllerState.Rewinding:
                UpdateRewinding(now);
                break;
            default:
                UpdateJogging(now);
                break;
        }
    }

    private void UpdateTracking(long now)
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
        Lateness.Record(dueQ16, Drive.Position, _rateQ16PerSec);
        Drive.Follow(dueQ16, _rateQ16PerSec, now);
        if (profileUs >= _evaluator.EndUs
            && (Drive.HasReached(EndCounts) || Drive.Position >= EndCounts
                || profileUs >= _evaluator.EndUs + MaxCatchUpUs))
        {
            StopMotor(ControllerState.EndOfTravel);
        }
    }

    private void UpdateRewinding(long now)
    {
        int result = _rewinder.Update(_limits.AtHome, _limits.AtEnd && _limits.AtHome, now);
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

    private void UpdateJogging(long now)
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
