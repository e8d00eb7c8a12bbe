// A two-phase encoder on the ESP32's pulse counter, which counts in hardware while the loop is away.

using System.Device.Gpio;
using Hourhinge.Firmware.Hardware;

namespace Hourhinge.Board;

/// <summary>Counts since power-up, as they were at the last <see cref="Refresh"/>: each reading allocates.</summary>
/// <remarks>
/// The runtime takes both edges of phase B and, for phase A, the edges that the polarity names. Read from its source:
/// with falling edges the count is monotonic, three counts for each period of a phase; with both edges of A named, two
/// of the four cancel. A version that decodes all four edges gives four. Hence the rig file wants the measured counts
/// a turn (hardware-notes/first-power-up.md says how), and swapping the two pins swaps the sign.
/// </remarks>
public sealed class PulseEncoder : IEncoder
{
    // Nanoseconds; the counter's filter ends at 1023 cycles of 80 MHz = 12 787 ns.
    private const ushort MinPulseNs = 1000;

    private readonly GpioPulseCounter _counter;

    /// <summary>Starts counting at zero.</summary>
    public PulseEncoder(int pinA, int pinB)
    {
        _counter = new GpioPulseCounter(pinA, pinB);
        _counter.Polarity = GpioPulsePolarity.Falling;
        _counter.FilterPulses = MinPulseNs;
        _counter.Start();
    }

    /// <inheritdoc/>
    public long Counts { get; private set; }

    /// <summary>Reads the counter; once a pass.</summary>
    public void Refresh() => Counts = _counter.Read().Count;
}
