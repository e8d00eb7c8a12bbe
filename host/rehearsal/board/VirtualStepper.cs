using Hourhinge.Firmware.Hardware;

namespace Hourhinge.Rehearsal.Board;

/// <summary>
/// A stepper and its driver: each pulse moves the rotor by one microstep, unless it comes faster than the motor can
/// follow or is lost on request. Microsteps are counted from the switch-on position, forward positive.
/// </summary>
public sealed class VirtualStepper : IStepOutput
{
    private readonly VirtualClock _clock;
    private readonly Random _random;
    private bool _enabled;
    private bool _forward = true;
    private double _lastPulseUs = -1e9;
    private double _runSinceUs;
    private double _runHertz;
    private double _runFraction;

    /// <summary>A motor at rest at microstep 0.</summary>
    public VirtualStepper(VirtualClock clock, double fastestPulsesPerSec = 1e6, double lostStepsPerThousand = 0,
        int seed = 1)
    {
        _clock = clock;
        _random = new Random(seed);
        MaxPulsesPerSec = fastestPulsesPerSec;
        LostStepsPerThousand = lostStepsPerThousand;
    }

    /// <summary>Called before and after each microstep with the true time in s, so that a test can measure the
    /// position.</summary>
    public Action<double>? StepMeasured { get; set; }

    /// <summary>Hard stops of the mechanism, microsteps: the rotor cannot leave them.</summary>
    public (long Min, long Max) Stops { get; set; } = (long.MinValue / 2, long.MaxValue / 2);

    /// <summary>Number of moves that a stop prevented.</summary>
    public int StopHits { get; private set; }

    /// <summary>Pulses that came faster than this are lost, 1/s.</summary>
    public double MaxPulsesPerSec { get; }

    /// <summary>Pulses lost at random, per thousand.</summary>
    public double LostStepsPerThousand { get; }

    /// <summary>Rotor position, microsteps.</summary>
    public long Microsteps { get; set; }

    /// <summary>Pulses received since switch-on.</summary>
    public long Pulses { get; private set; }

    /// <summary>Pulses that did not become microsteps.</summary>
    public long LostPulses { get; private set; }

    /// <inheritdoc/>
    public void SetEnabled(bool on) => _enabled = on;

    /// <inheritdoc/>
    public void SetDirection(bool forward)
    {
        UpdateRun();
        _forward = forward;
    }

    /// <inheritdoc/>
    public void Pulse()
    {
        double now = _clock.TrueUs;
        bool tooFast = now - _lastPulseUs < 1e6 / MaxPulsesPerSec;
        _lastPulseUs = now;
        Pulses++;
        if (!_enabled || tooFast || (LostStepsPerThousand > 0 && _random.NextDouble() * 1000 < LostStepsPerThousand))
        {
            LostPulses++;
            return;
        }

        StepMeasured?.Invoke(now * 1e-6);
        Move(_forward ? 1 : -1);
        StepMeasured?.Invoke(now * 1e-6);
    }

    /// <inheritdoc/>
    public void RunAtHertz(int stepsPerSec)
    {
        UpdateRun();
        _runHertz = stepsPerSec;
    }

    /// <summary>Brings a running pulse train up to the present moment.</summary>
    public void UpdateRun()
    {
        double now = _clock.TrueUs;
        if (_runHertz > 0 && _enabled)
        {
            _runFraction += (now - _runSinceUs) * 1e-6 * _runHertz;
            long steps = (long)_runFraction;
            _runFraction -= steps;
            Pulses += steps;
            Move(_forward ? steps : -steps);
        }

        _runSinceUs = now;
    }

    private void Move(long by)
    {
        long wanted = Microsteps + by;
        Microsteps = Math.Clamp(wanted, Stops.Min, Stops.Max);
        StopHits += Microsteps != wanted ? 1 : 0;
    }
}
