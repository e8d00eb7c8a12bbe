// The stepper: pulses on an absolute schedule, at most a few per pass.

using Hourhinge.Firmware.Guards;
using Hourhinge.Firmware.Hardware;
using Hourhinge.SharedMath.Profile;

namespace Hourhinge.Firmware.Drives;

/// <summary>
/// Converts due positions to step pulses. Two pulses are never closer than the pull-in interval, so catching up after
/// a late pass loses no steps. A slow move makes the steps that have come due since the last pass, so its speed does
/// not depend on the loop. A pass never makes more than <see cref="MaxPulsesPerUpdate"/> pulses and never waits longer
/// than <see cref="MaxWaitUs"/>.
/// </summary>
public sealed class StepperDrive : MotorDrive
{
    /// <summary>Pulses in one pass at most; more wait for the next pass.</summary>
    public const int MaxPulsesPerUpdate = 16;

    /// <summary>Longest time that a pass waits between its pulses, µs: what an ABORt may have to wait for.</summary>
    public const long MaxWaitUs = 20000;

    private readonly IStepOutput _output;
    private readonly IClock _clock;
    private readonly LimitSwitches _limits;
    private long _intervalUs = 2000;
    private long _lastPulseUs;
    private long _stepDueUs;
    private bool _forward = true;
    private bool _running;
    private bool _reversed;

    /// <summary>Owns the step output.</summary>
    public StepperDrive(IStepOutput output, IClock clock, LimitSwitches limits)
    {
        _output = output;
        _clock = clock;
        _limits = limits;
        _output.SetEnabled(false);
        _output.SetDirection(true);
    }

    /// <inheritdoc/>
    public override bool HasUncountedRun => true;

    /// <inheritdoc/>
    public override void Configure(DriveProfile profile)
    {
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
    }

    /// <inheritdoc/>
    public override void Follow(long dueQ16, long rateQ16PerSec, long nowUs)
    {
        long due = (dueQ16 + (DriveProfile.OneCount / 2)) >> DriveProfile.FractionBits;
        if (due > Position)
        {
            Step(due, _intervalUs);
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
        if (countsPerSec > 0 && !_running)
        {
            Turn(false);
        }

        _running = countsPerSec > 0;
        _output.RunAtHertz(countsPerSec);
    }

    /// <inheritdoc/>
    public override void Stop(bool release)
    {
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
