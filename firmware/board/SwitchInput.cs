// A limit switch on one pin.

using System.Device.Gpio;
using Hourhinge.Firmware.Hardware;

namespace Hourhinge.Board;

/// <summary>
/// A normally closed contact to ground with a pull-up outside the module: the pin is low while the carriage is away
/// from the switch, and high when it is reached, when a wire breaks, and when the plug is out.
/// </summary>
/// <remarks>
/// Reading a pin allocates four objects, so the level is kept: the pin's own edges change it, and after an edge
/// <see cref="Refresh"/> reads it again, because a contact that bounces may hide its last edge. Where no step may
/// follow the closing of the switch, <see cref="IsExact"/> reads the pin each time.
/// </remarks>
public sealed class SwitchInput : IInputPin
{
    private readonly GpioPin _pin;
    private readonly PinValue _high = PinValue.High;
    private bool _active;

    /// <summary>Opens the pin.</summary>
    public SwitchInput(GpioController pins, int pin)
    {
        _pin = pins.OpenPin(pin, PinMode.Input);
        _pin.ValueChanged += OnChanged;
        Refresh();
    }

    /// <summary>True to read the pin each time, false to use the level kept.</summary>
    public bool IsExact { get; set; }

    /// <inheritdoc/>
    public bool IsActive
    {
        get
        {
            if (IsExact)
            {
                Refresh();
            }

            return _active;
        }
    }

    /// <summary>True after an edge, until the pin is read again.</summary>
    public bool HasChanged { get; private set; }

    /// <summary>Reads the pin.</summary>
    public void Refresh()
    {
        HasChanged = false;
        _active = _pin.Read() == _high;
    }

    private void OnChanged(object sender, PinValueChangedEventArgs e)
    {
        _active = e.ChangeType == PinEventTypes.Rising;
        HasChanged = true;
    }
}
