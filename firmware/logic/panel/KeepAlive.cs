// Keeps a power bank awake: many switch off at a low current. Its consumption: firmware/POWER.md.

using Hourhinge.Firmware.Hardware;

namespace Hourhinge.Firmware.Panel;

/// <summary>Switches a load (a resistor on a transistor) on briefly at regular intervals.</summary>
public sealed class KeepAlive
{
    /// <summary>Period at power-up, ms.</summary>
    public const int DefaultPeriodMs = 10000;

    private readonly IOutputPin _load;
    private bool _isOn;

    /// <summary>Switches this load, which may be null where none is fitted.</summary>
    public KeepAlive(IOutputPin load)
    {
        _load = load;
        _load?.Set(false);
    }

    /// <summary>Time on in each period, ms; 0 for never.</summary>
    public int OnMs { get; set; }

    /// <summary>Period, ms; larger than <see cref="OnMs"/>.</summary>
    public int PeriodMs { get; set; } = DefaultPeriodMs;

    /// <summary>True where a load is fitted.</summary>
    public bool IsFitted => _load != null;

    /// <summary>One pass of the loop.</summary>
    public void Update(long nowUs)
    {
        if (_load == null || (OnMs == 0 && !_isOn))
        {
            return;
        }

        bool on = nowUs / 1000 % PeriodMs < OnMs;
        if (on != _isOn)
        {
            _isOn = on;
            _load.Set(on);
        }
    }
}
