// One on-off output: LED, shutter, keep-alive load.

using System.Device.Gpio;
using Hourhinge.Firmware.Hardware;

namespace Hourhinge.Board;

/// <summary>High is on; off from the first moment. Only a change is made, and by toggling: a write
/// allocates.</summary>
public sealed class GpioOutput : IOutputPin
{
    private readonly GpioPin _pin;
    private bool _on;

    /// <summary>Opens the pin, off.</summary>
    public GpioOutput(GpioController pins, int pin)
    {
        _pin = pins.OpenPin(pin, PinMode.Output);
        _pin.Write(PinValue.Low);
    }

    /// <inheritdoc/>
    public void Set(bool on)
    {
        if (on != _on)
        {
            _pin.Toggle();
            _on = on; // Only now: a failure is tried again.
        }
    }
}
