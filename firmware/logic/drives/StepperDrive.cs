// The stepper: pulses on an absolute schedule, at most a few per pass.

using Hourhinge.Firmware.Guards;
using Hourhinge.Firmware.Hardware;
using Hourhinge.SharedMath.Profile;

namespace Hourhinge.Firmware.Drives;

/// <summary>
/// Converts due positions to step pulses. Two pulses are never closer than the pull-in interval, so catching up after
/// a late pass loses no steps. A pass never makes more than <see cref="MaxPulsesPerUpdate"/> pulses.
/// </summary>
public sealed class StepperDrive : MotorDrive
{
    /// <summary>Pulses in one pass at most; more wait for the next pass.</summary>
    public const int MaxPulsesPerUpdate = 16;

    private readonly IStepOutput _output;
    private readonly IClock _clock;
    private readonly LimitSwitches _limits;
    private long _intervalUs = 2000;
    private long _lastPulseUs;
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

    private void Step(long target, long intervalUs)
    {
        Turn(target > Position);
        for (int pulses = 0; pulses < MaxPulsesPerUpdate && Position != target; pulses++)
        {
            // Waiting for the pull-in interval here, instead of leaving the pulse to the next pass, allows several
            // steps in each pass of a slow loop.
            long next = _lastPulseUs + intervalUs;
            long now = _clock.NowMicroseconds;
            if (now < next && pulses == 0 && next - now > _intervalUs)
            {
                return; // A slow move: not due in this pass.
            }

            while (now < next)
            {
                now = _clock.NowMicroseconds;
            }

            if (_forward ? _limits.AtEnd : _limits.AtHome)
            {
                return;
            }

            _output.Pulse();
            _lastPulseUs = now;
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
