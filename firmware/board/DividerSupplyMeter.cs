// The supply voltage, by a resistor divider and the first converter. The limit is not checked here.

using System.Device.Adc;
using Hourhinge.Firmware.Hardware;

namespace Hourhinge.Board;

/// <summary>Millivolts of the supply, a straight line through two calibration points.</summary>
public sealed class DividerSupplyMeter : ISupplyMeter
{
    // The converter's noise is a few counts; the mean of 8 readings takes it below the 10 mV that a motor feels.
    private const int Readings = 8;

    private readonly AdcChannel _channel;
    private readonly int _maxReading;
    private readonly int _zeroMillivolts;
    private readonly int _fullScaleMillivolts;

    /// <summary>Opens the channel; the two supplies are those that would read zero and full scale.</summary>
    public DividerSupplyMeter(int channel, int zeroMillivolts, int fullScaleMillivolts)
    {
        AdcController converter = new AdcController();
        _channel = converter.OpenChannel(channel);
        _maxReading = converter.MaxValue;
        _zeroMillivolts = zeroMillivolts;
        _fullScaleMillivolts = fullScaleMillivolts;
    }

    /// <inheritdoc/>
    public int ReadMillivolts()
    {
        int sum = 0;
        for (int i = 0; i < Readings; i++)
        {
            sum += _channel.ReadValue();
        }

        long span = _fullScaleMillivolts - _zeroMillivolts;
        return _zeroMillivolts + (int)(span * sum / ((long)_maxReading * Readings));
    }
}
