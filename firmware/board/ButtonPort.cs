// The button: edges from Iot.Device.Button, gestures from GestureQueue. Its actions are in the logic.

using System;
using System.Device.Gpio;
using Hourhinge.Firmware.Hardware;
using Hourhinge.Firmware.Panel;
using Iot.Device.Button;

namespace Hourhinge.Board;

/// <summary>
/// Takes the library's button-down and button-up events with its debounce off, because that debounce guards the
/// press but not the release, its Press event also ends a hold and each half of a double press, and its double press
/// needs an even number of presses before it. <see cref="GestureQueue"/> has the same three gestures without these.
/// </summary>
public sealed class ButtonPort : IGestureSource, IInputPin
{
    private readonly GpioController _pins;
    private readonly int _pin;
    private readonly GestureQueue _gestures;
    private readonly GpioButton _button;

    /// <summary>Opens a button to ground with the module's pull-up.</summary>
    public ButtonPort(GpioController pins, int pin, IClock clock)
    {
        _pins = pins;
        _pin = pin;
        _gestures = new GestureQueue(clock, this);
        _button = new GpioButton(
            pin,
            TimeSpan.FromMilliseconds(GestureQueue.DoublePressMs),
            TimeSpan.FromMilliseconds(GestureQueue.HoldMs),
            pins,
            false,
            PinMode.InputPullUp,
            TimeSpan.Zero);
        _button.ButtonDown += OnDown;
        _button.ButtonUp += OnUp;
    }

    /// <summary>The level kept: the edges change it, <see cref="Refresh"/> corrects it. Reading a pin
    /// allocates.</summary>
    public bool IsActive { get; private set; }

    /// <summary>True after an edge, until the pin is read again.</summary>
    public bool HasChanged { get; private set; }

    /// <inheritdoc/>
    public int Dequeue() => _gestures.Dequeue();

    /// <summary>Reads the pin, for an edge that the interrupt missed.</summary>
    public void Refresh()
    {
        HasChanged = false;
        IsActive = _pins.Read(_pin) == PinValue.Low;
    }

    private void OnDown(object sender, EventArgs e) => Edge(true);

    private void OnUp(object sender, EventArgs e) => Edge(false);

    private void Edge(bool down)
    {
        IsActive = down;
        HasChanged = true;
        _gestures.Edge(down);
    }
}
