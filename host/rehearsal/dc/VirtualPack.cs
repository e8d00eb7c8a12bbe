using Hourhinge.Firmware.Hardware;
using Hourhinge.Rehearsal.Board;

namespace Hourhinge.Rehearsal.Dc;

/// <summary>
/// A battery pack: an open-circuit voltage that falls with true time, an internal resistance, and the meter that the
/// firmware reads it by (steps of the converter, noise, a gain error).
/// </summary>
public sealed class VirtualPack : ISupplyMeter
{
    private readonly VirtualClock _clock;
    private readonly Random _random = new(7);

    /// <summary>A pack that discharges with the true time of a clock.</summary>
    public VirtualPack(VirtualClock clock) => _clock = clock;

    /// <summary>Open-circuit voltage at a true time in seconds.</summary>
    public Func<double, double> OpenCircuitVolts { get; set; } = _ => 5.2;

    /// <summary>Internal resistance and leads, ohms.</summary>
    public double ResistanceOhm { get; set; } = 0.15;

    /// <summary>Current that the motor draws now, A.</summary>
    public double LoadAmpere { get; set; }

    /// <summary>One step of the meter, mV.</summary>
    public double StepMillivolts { get; set; } = 2;

    /// <summary>Noise of a reading, mV, one sigma.</summary>
    public double NoiseMillivolts { get; set; } = 8;

    /// <summary>The meter reads too high by this, percent.</summary>
    public double GainErrorPercent { get; set; }

    /// <summary>Voltage at the terminals now.</summary>
    public double Volts => Math.Max(0, OpenCircuitVolts(_clock.TrueSec) - (LoadAmpere * ResistanceOhm));

    /// <inheritdoc/>
    public int ReadMillivolts()
    {
        double gaussian = Math.Sqrt(-2 * Math.Log(1 - _random.NextDouble()))
            * Math.Cos(2 * Math.PI * _random.NextDouble());
        double read = (Volts * 1000 * (1 + (GainErrorPercent / 100))) + (gaussian * NoiseMillivolts);
        return (int)Math.Max(0, Math.Round(read / StepMillivolts) * StepMillivolts);
    }
}
