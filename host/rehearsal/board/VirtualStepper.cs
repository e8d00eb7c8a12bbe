using Hourhinge.Firmware.Hardware;

namespace Hourhinge.Rehearsal.Board;

/// <summary>
/// A stepper and its driver: pulses become microsteps of the rotor unless they come faster than the motor can pull in,
/// or are lost on request. Microsteps are counted from the switch-on position, forward positive.
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
        FastestPulsesPerSec = fastestPulsesPerSec;
        LostStepsPerThousand = lostStepsPerThousand;
    }

    /// <summary>Called before and after each microstep, with the true time in s: for measuring.</summary>
    public Action<double>? Stepping { get; set; }

    /// <summary>Hard stops of the mechanism, microsteps: the rotor cannot leave them.</summary>
    public (long Least, long Most) Stops { get; set; } = (long.MinValue / 2, long.MaxValue / 2);

    /// <summary>Times that the rotor was pushed against a stop.</summary>
    public int StopHits { get; private set; }

    /// <summary>Pulses that came faster than this are lost, 1/s.</summary>
    public double FastestPulsesPerSec { get; }

    /// <summary>Share of pulses lost at random, 1/1000.</summary>
    public double LostStepsPerThousand { get; }

    /// <summary>Rotor position, microsteps.</summary>
    public long Microsteps { get; set; }

    /// <summary>Pulses received since switch-on.</summary>
    public long Pulses { get; private set; }

    /// <summary>Pulses that did not become microsteps.</summary>
    public long LostPulses { get; private set; }

    /// <summary>True while the coils are energised.</summary>
    public bool IsEnabled => _enabled;

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
        bool tooFast = now - _lastPulseUs < 1e6 / FastestPulsesPerSec;
        _lastPulseUs = now;
        Pulses++;
        if (!_enabled || tooFast || (LostStepsPerThousand > 0 && _random.NextDouble() * 1000 < LostStepsPerThousand))
        {
            LostPulses++;
            return;
        }

        Stepping?.Invoke(now * 1e-6);
        Move(_forward ? 1 : -1);
        Stepping?.Invoke(now * 1e-6);
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
            long whole = (long)_runFraction;
            _runFraction -= whole;
            Pulses += whole;
            Move(_forward ? whole : -whole);
        }

        _runSinceUs = now;
    }

    private void Move(long by)
    {
        long wanted = Microsteps + by;
        Microsteps = Math.Clamp(wanted, Stops.Least, Stops.Most);
        StopHits += Microsteps != wanted ? 1 : 0;
    }
}
