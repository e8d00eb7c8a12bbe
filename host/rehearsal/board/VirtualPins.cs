using Hourhinge.Firmware.Hardware;

namespace Hourhinge.Rehearsal.Board;

/// <summary>An input: a button, or a switch that the mechanism presses.</summary>
public sealed class VirtualInput : IInputPin
{
    private readonly Func<bool>? _pressed;

    /// <summary>An input that a test holds through <see cref="IsHeld"/>.</summary>
    public VirtualInput()
    {
    }

    /// <summary>An input that the mechanism closes.</summary>
    public VirtualInput(Func<bool> pressed) => _pressed = pressed;

    /// <summary>Held closed by a test.</summary>
    public bool IsHeld { get; set; }

    /// <summary>The wire is broken: the input never closes.</summary>
    public bool IsWireBroken { get; set; }

    /// <inheritdoc/>
    public bool IsActive => !IsWireBroken && (IsHeld || (_pressed?.Invoke() ?? false));
}

/// <summary>An output that remembers its state.</summary>
public sealed class VirtualOutput : IOutputPin
{
    /// <summary>True while on.</summary>
    public bool IsOn { get; private set; }

    /// <summary>Times that it was switched on.</summary>
    public int Count { get; private set; }

    /// <inheritdoc/>
    public void Set(bool on)
    {
        Count += on && !IsOn ? 1 : 0;
        IsOn = on;
    }
}
