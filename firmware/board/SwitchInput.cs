// A limit switch on one pin.

using System.Device.Gpio;
using Hourhinge.Firmware.Hardware;

namespace Hourhinge.Board;

/// <summary>
/// A normally closed contact to ground with a pull-up outside the module: the pin is low while the carriage is away
/// from the switch, and high when it is reached, when a wire breaks, and when the plug is out.
/// </summary>
public sealed class SwitchInput : IInputPin
{
    private readonly GpioPin _pin;

    /// <summary>Opens the pin.</summary>
    public SwitchInput(GpioController pins, int pin)
    {
        _pin = pins.OpenPin(pin, PinMode.Input);
    }

    /// <inheritdoc/>
    public bool IsActive => _pin.Read() == PinValue.High;
}
