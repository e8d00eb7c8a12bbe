using Hourhinge.Firmware.Hardware;

namespace Hourhinge.Rehearsal.Board;

/// <summary>
/// A stepper and its driver: each pulse moves the rotor by one microstep, unless it comes faster than the motor can
/// follow or is lost on request. Microsteps are counted from the switch-on position, forward positive. The hardware's
/// pulse train behaves like the PWM timer of the ESP32 (read from the runtime's and ESP-IDF's sources): its divider has
/// steps of 1/256, and a change of frequency begins a new period.
/// </summary>
public sealed class VirtualStepper : IStepOutput, IPulseCounter
{
    private const double TimerHertz = 80e6;

    // Share of a period in which the train's output is high.
    private const double TrainDuty = 0.75;

    private readonly VirtualClock _clock;
    private readonly Random _random;
    private bool _enabled;
    private bool _forward = true;
    private double _lastPulseUs = -1e9;
    private int _trainHertz;
    private double _trainPeriodUs;
    private double _nextTrainPulseUs;
    private double _counted;
    private bool _isUpdating;

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

    /// <summary>What the counter sees of each pulse: 1; 0 when its wire has come off, 2 when it counts both
    /// edges.</summary>
    public double CountsPerPulse { get; set; } = 1;

    /// <summary>Frequency of the hardware's train as it was asked for, Hz; 0 while it is off.</summary>
    public int TrainHertz => _trainHertz;

    /// <summary>Rotor position, microsteps.</summary>
    public long Microsteps { get; set; }

    /// <summary>Pulses received since switch-on.</summary>
    public long Pulses { get; private set; }

    /// <summary>Pulses that did not become microsteps.</summary>
    public long LostPulses { get; private set; }

    /// <inheritdoc/>
    public void SetEnabled(bool on) => _enabled = on;

    /// <summary>True while the coils are energized.</summary>
    public bool IsEnabled => _enabled;

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
        _counted += CountsPerPulse;
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
        if (stepsPerSec == _trainHertz)
        {
            return;
        }

        double now = _clock.TrueUs;
        double high = _nextTrainPulseUs - (_trainPeriodUs * (1 - TrainDuty));
        bool beginsAtOnce = _trainHertz > 0 && stepsPerSec > 0 && now > high;
        _trainHertz = stepsPerSec;
        _trainPeriodUs = stepsPerSec > 0 ? TrainPeriodUs(stepsPerSec) : 0;
        if (beginsAtOnce)
        {
            TrainPulse(now);
        }

        _nextTrainPulseUs = now + _trainPeriodUs;
    }

    /// <inheritdoc/>
    public long ReadPulses()
    {
        UpdateRun();
        return (long)_counted;
    }

    /// <summary>Brings a running pulse train up to the present moment.</summary>
    public void UpdateRun()
    {
        if (_isUpdating)
        {
            return; // Called from StepMeasured, in the middle of a pulse.
        }

        _isUpdating = true;
        for (double now = _clock.TrueUs; _trainHertz > 0 && _nextTrainPulseUs <= now;
            _nextTrainPulseUs += _trainPeriodUs)
        {
            TrainPulse(_nextTrainPulseUs);
        }

        _isUpdating = false;
    }

    // The runtime takes the finest duty for which the timer's divider stays above one.
    private static double TrainPeriodUs(int hertz)
    {
        int bits = 19;
        while (bits > 1 && TimerHertz / hertz / (1 << bits) <= 1)
        {
            bits--;
        }

        double divider = Math.Floor(TimerHertz * 256 / hertz / (1 << bits)) / 256;
        return divider * (1 << bits) / TimerHertz * 1e6;
    }

    private void TrainPulse(double atUs)
    {
        Pulses++;
        _counted += CountsPerPulse;
        if (_enabled)
        {
            StepMeasured?.Invoke(atUs * 1e-6);
            Move(_forward ? 1 : -1);
            StepMeasured?.Invoke(atUs * 1e-6);
        }
    }

    private void Move(long by)
    {
        long wanted = Microsteps + by;
        Microsteps = Math.Clamp(wanted, Stops.Min, Stops.Max);
        StopHits += Microsteps != wanted ? 1 : 0;
    }
}
