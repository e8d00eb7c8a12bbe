// Signatures of nanoFramework.Iot.Device.Button. Compile-time only: no body here ever runs.

using System;
using System.Device.Gpio;

namespace Iot.Device.Button;

/// <summary>Where a hold stands.</summary>
public enum ButtonHoldingState
{
    Started,
    Completed,
    Canceled,
}

/// <summary>What the hold event tells.</summary>
public class ButtonHoldingEventArgs : EventArgs
{
    public ButtonHoldingState HoldingState
    {
        get => throw new NotImplementedException();
        set => throw new NotImplementedException();
    }
}

/// <summary>A button, whatever it hangs on.</summary>
public class ButtonBase : IDisposable
{
    public ButtonBase() => throw new NotImplementedException();

    public ButtonBase(TimeSpan doublePress, TimeSpan holding, TimeSpan debounceTime = default(TimeSpan)) =>
        throw new NotImplementedException();

    public delegate void ButtonPressedDelegate(object sender, EventArgs e);

    public delegate void ButtonHoldingDelegate(object sender, ButtonHoldingEventArgs e);

    public event ButtonPressedDelegate ButtonUp
    {
        add => throw new NotImplementedException();
        remove => throw new NotImplementedException();
    }

    public event ButtonPressedDelegate ButtonDown
    {
        add => throw new NotImplementedException();
        remove => throw new NotImplementedException();
    }

    public event ButtonPressedDelegate Press
    {
        add => throw new NotImplementedException();
        remove => throw new NotImplementedException();
    }

    public event ButtonPressedDelegate DoublePress
    {
        add => throw new NotImplementedException();
        remove => throw new NotImplementedException();
    }

    public event ButtonHoldingDelegate Holding
    {
        add => throw new NotImplementedException();
        remove => throw new NotImplementedException();
    }

    public bool IsHoldingEnabled
    {
        get => throw new NotImplementedException();
        set => throw new NotImplementedException();
    }

    public bool IsDoublePressEnabled
    {
        get => throw new NotImplementedException();
        set => throw new NotImplementedException();
    }

    public bool IsPressed
    {
        get => throw new NotImplementedException();
        set => throw new NotImplementedException();
    }

    public void Dispose() => throw new NotImplementedException();

    protected void HandleButtonPressed() => throw new NotImplementedException();

    protected void HandleButtonReleased() => throw new NotImplementedException();

    protected virtual void Dispose(bool disposing) => throw new NotImplementedException();
}

/// <summary>A button on a pin.</summary>
public class GpioButton : ButtonBase
{
    public GpioButton(
        int buttonPin,
        GpioController gpio = null,
        bool shouldDispose = true,
        PinMode pinMode = PinMode.InputPullUp,
        TimeSpan debounceTime = default(TimeSpan)) => throw new NotImplementedException();

    public GpioButton(
        int buttonPin,
        TimeSpan doublePress,
        TimeSpan holding,
        GpioController gpio = null,
        bool shouldDispose = true,
        PinMode pinMode = PinMode.InputPullUp,
        TimeSpan debounceTime = default(TimeSpan)) => throw new NotImplementedException();

    protected override void Dispose(bool disposing) => throw new NotImplementedException();
}
