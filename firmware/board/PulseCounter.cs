// The pulses on the driver's STEP input, counted back by the ESP32's pulse counter over a wire.

using System.Device.Gpio;
using Hourhinge.Firmware.Hardware;

namespace Hourhinge.Board;

/// <summary>Counts rising edges on one pin. Each reading allocates four objects.</summary>
/// <remarks>
/// The counter needs a pin of its own: opened on a pin that is an output, it makes it an input (read from the sources
/// of the runtime and of ESP-IDF). The runtime finds a counter by its first pin, so that pin must not be the encoder's
/// phase A.
/// </remarks>
public sealed class PulseCounter : IPulseCounter
{
    // Nanoseconds: far below a toggle of the step pin, 6 µs.
    private const ushort MinPulseNs = 1000;

    private readonly GpioPulseCounter _counter;

    /// <summary>Starts counting at zero.</summary>
    public PulseCounter(int pin)
    {
        _counter = new GpioPulseCounter(pin, -1);
        _counter.Polarity = GpioPulsePolarity.Rising;
        _counter.FilterPulses = MinPulseNs;
        _counter.Start();
    }

    /// <inheritdoc/>
    public long ReadPulses() => _counter.Read().Count;
}
