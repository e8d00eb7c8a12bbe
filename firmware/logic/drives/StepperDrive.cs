// The stepper: pulses on an absolute schedule, at most a few per pass, or by the hardware's train (StepTrain.cs).

using Hourhinge.Firmware.Guards;
using Hourhinge.Firmware.Hardware;
using Hourhinge.SharedMath.Profile;

namespace Hourhinge.Firmware.Drives;

/// <summary>
/// Converts due positions to step pulses. Two pulses are never closer than the pull-in interval, so catching up after
/// a late pass loses no steps. A slow move makes the steps that have come due since the last pass, so its speed does
/// not depend on the loop. A pass never makes more than <see cref="MaxPulsesPerUpdate"/> pulses and never waits longer
/// than <see cref="MaxWaitUs"/>. Where the pulses are counted back, tracking that needs more than one a pass leaves
/// them to the hardware's train; at the start, before the end of the travel and where the motor waits they are made
/// one by one.
/// </summary>
public sealed class StepperDrive : MotorDrive
{
    /// <summary>Pulses in one pass at most; more wait for the next pass.</summary>
    public const int MaxPulsesPerUpdate = 16;

    /// <summary>Longest time that a pass waits between its pulses, µs: what an ABORt may have to wait for.</summary>
    public const long MaxWaitUs = 20000;

    // The train starts at 1.5 pulses a pass and ends below one; it never runs in the last second before the end.
    private const long StartPerPassQ16 = 3 * DriveProfile.OneCount / 2;
    private const long StayPerPassQ16 = DriveProfile.OneCount;
    private const int EndMarginCounts = 16;

    // Time between two speeds of a ramp: each begins a new period, so a change in every pass of a fast loop would leave
    // no pulse.
    private const long RampUs = 20000;

    // A pass that was longer than this does not count as one of many.
    private const long MaxPassUs = 100000;

    private readonly IStepOutput _output;
    private readonly IClock _clock;
    private readonly LimitSwitches _limits;
    private readonly StepTrain _train;
    private long _intervalUs = 2000;
    private long _lastPulseUs;
    private long _stepDueUs;
    private bool _forward = true;
    private bool _running;
    private bool _reversed;
    private long _rampedUs;
    private bool _settling;
    private bool _isLost;
    private long _endCounts;
    private long _followedUs;
    private long _passUs;
    private int _maxTrainHertz;

    /// <summary>Owns the step output.</summary>
    /// <param name="output">The driver.</param>
    /// <param name="counter">Counts its pulses; null where it is not fitted.</param>
    /// <param name="clock">The board's clock.</param>
    /// <param name="limits">The switches.</param>
    public StepperDrive(IStepOutput output, IPulseCounter counter, IClock clock, LimitSwitches limits)
    {
        _output = output;
        _clock = clock;
        _limits = limits;
        _train = counter == null ? null : new StepTrain(output, counter, clock);
        _output.SetEnabled(false);
        _output.SetDirection(true);
    }

    /// <inheritdoc/>
    public override bool HasUncountedRun => true;

    /// <inheritdoc/>
    public override int TrainHertz => _train == null ? 0 : _train.Hertz;

    /// <inheritdoc/>
    public override bool HasLostPosition => _isLost;

    /// <inheritdoc/>
    public override int FaultNow(long nowUs) => _train == null ? Fault.None : _train.FaultReason;

    /// <inheritdoc/>
    public override void Configure(DriveProfile profile)
    {
        _endCounts = _train == null ? 0 : new ProfileEvaluator(profile).EndQ16 >> DriveProfile.FractionBits;
        _maxTrainHertz = (int)((long)profile.PullInCountsPerSec * StepTrain.MaxPercentOfPullIn / 100);
        _intervalUs = IntervalUs(profile.PullInCountsPerSec);
        _reversed = profile.Has(DriveProfile.MotorReversed);
        _output.SetDirection(_forward != _reversed);
    }

    /// <inheritdoc/>
    public override void Engage(long nowUs)
    {
        _output.SetEnabled(true);
        _lastPulseUs = nowUs;
        _stepDueUs = nowUs;
        _followedUs = nowUs;
        _passUs = 0;
        if (_train != null)
        {
            Settle();
            _train.Reset();
        }
    }

    /// <inheritdoc/>
    public override void Follow(long dueQ16, long rateQ16PerSec, long nowUs)
    {
        bool isCounted = _train != null && !_train.IsMissing;
        if (isCounted && FollowByTrain(dueQ16, rateQ16PerSec, nowUs))
        {
            return;
        }

        long due = (dueQ16 + (DriveProfile.OneCount / 2)) >> DriveProfile.FractionBits;
        if (due > Position)
        {
            Step(due, _intervalUs);
        }

        // After the pulses of this pass: the train's first pulse comes a period later.
        if (isCounted && _train.IsProven && IsForTrain(dueQ16, rateQ16PerSec, StartPerPassQ16))
        {
            Turn(true);
            _train.Start(Position, (int)((rateQ16PerSec + (DriveProfile.OneCount / 2)) >> DriveProfile.FractionBits));
        }
    }

    /// <inheritdoc/>
    public override void MoveToward(long target, int countsPerSec, long nowUs)
    {
        long interval = IntervalUs(countsPerSec);
        Step(target, interval > _intervalUs ? interval : _intervalUs);
    }

    /// <inheritdoc/>
    public override void RunBack(int countsPerSec)
    {
        long now = _clock.NowMicroseconds;
        if (countsPerSec > 0 && !_running)
        {
            Turn(false);
        }
        else if (countsPerSec > 0 && now - _rampedUs < RampUs)
        {
            return;
        }

        _rampedUs = now;
        _running = countsPerSec > 0;
        _output.RunAtHertz(countsPerSec);
    }

    /// <inheritdoc/>
    public override void Stop(bool release)
    {
        if (_train != null && _train.Hertz > 0)
        {
            StopTrain();
        }

        // Also a fault that the last pass has found, when a stop comes before the next one raises it.
        _isLost = _train != null && _train.DequeueFault() != Fault.None;

        if (_running)
        {
            _running = false;
            _output.RunAtHertz(0);
        }

        if (release)
        {
            _output.SetEnabled(false);
        }
    }

    // False when this pass is to make its pulses itself.
    private bool FollowByTrain(long dueQ16, long rateQ16PerSec, long nowUs)
    {
        long passUs = nowUs - _followedUs;
        _followedUs = nowUs;
        _passUs += ((passUs < MaxPassUs ? passUs : MaxPassUs) - _passUs) / 8;
        if (_train.Hertz == 0)
        {
            Settle();
            if (!_train.IsProven && IsForTrain(dueQ16, rateQ16PerSec, StartPerPassQ16))
            {
                _train.Prove();
            }

            return false;
        }

        // Ahead by up to a quarter of a second the train slows down; beyond that the motor waits.
        if (IsForTrain(dueQ16 + (rateQ16PerSec / 4), rateQ16PerSec, StayPerPassQ16))
        {
            _train.Follow(dueQ16, rateQ16PerSec, nowUs, _maxTrainHertz);
            Position = _train.Position;
        }
        else
        {
            StopTrain();
        }

        return true;
    }

    private bool IsForTrain(long dueQ16, long rateQ16PerSec, long perPassQ16)
    {
        long rate = rateQ16PerSec >> DriveProfile.FractionBits;
        return rateQ16PerSec * _passUs >= perPassQ16 * 1000000
            && rate < _maxTrainHertz
            && ((Position - 1) << DriveProfile.FractionBits) < dueQ16
            && Position + rate + EndMarginCounts < _endCounts
            && !_limits.AtEnd;
    }

    private void StopTrain()
    {
        Position = _train.Stop();
        _lastPulseUs = _clock.NowMicroseconds;
        _settling = true;
    }

    private void Settle()
    {
        if (_settling)
        {
            _settling = false;
            Position += _train.LatePulses();
        }
    }

    // Steps at one speed: each is due an interval after the one before. After a late pass several are due; they are
    // made at once, at the pull-in interval. More than a pass can make are forgotten, not made up for.
    private void Step(long target, long intervalUs)
    {
        Turn(target > Position);
        long began = _clock.NowMicroseconds;
        long oldest = began - (MaxPulsesPerUpdate * intervalUs);
        _stepDueUs = _stepDueUs < oldest ? oldest : _stepDueUs;
        long now = began;
        for (int pulses = 0; pulses < MaxPulsesPerUpdate && Position != target; pulses++)
        {
            long due = _stepDueUs + intervalUs;
            long ready = _lastPulseUs + _intervalUs;
            ready = ready > due ? ready : due;

            // Waiting here for the pull-in interval, instead of leaving the pulse to the next pass, allows several
            // steps in each pass of a slow loop.
            if (due - now > _intervalUs || ready - began > MaxWaitUs)
            {
                return;
            }

            while (now < ready)
            {
                now = _clock.NowMicroseconds;
            }

            if (_forward ? _limits.AtEnd : _limits.AtHome)
            {
                return;
            }

            _output.Pulse();
            _train?.RecordPulse();
            _lastPulseUs = now;
            _stepDueUs = due;
            Position += _forward ? 1 : -1;
        }
    }

    // Rounded up: a microsecond too few would exceed the pull-in rate.
    private static long IntervalUs(int countsPerSec) => (1000000 + countsPerSec - 1) / countsPerSec;

    private void Turn(bool forward)
    {
        if (forward != _forward)
        {
            _forward = forward;
            _output.SetDirection(forward != _reversed);
        }
    }
}
