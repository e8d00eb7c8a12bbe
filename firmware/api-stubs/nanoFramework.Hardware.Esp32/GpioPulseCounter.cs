// Signatures of the ESP32's pulse counter. It lives in the package nanoFramework.Hardware.Esp32, in this namespace.
// Compile-time only: no body here ever runs.

namespace System.Device.Gpio;

/// <summary>Which edges count.</summary>
public enum GpioPulsePolarity
{
    Both,
    Falling,
    Rising,
}

/// <summary>A count and when it was read.</summary>
public struct GpioPulseCount
{
    public long Count;
    public TimeSpan RelativeTime;
}

/// <summary>Counts pulses on one pin, or both ways on two.</summary>
public class GpioPulseCounter : IDisposable
{
    public GpioPulseCounter(int pinNumberA, int pinNumberB = -1) => throw new NotImplementedException();

    public GpioPulsePolarity Polarity
    {
        get => throw new NotImplementedException();
        set => throw new NotImplementedException();
    }

    public ushort FilterPulses
    {
        get => throw new NotImplementedException();
        set => throw new NotImplementedException();
    }

    public void Start() => throw new NotImplementedException();

    public void Stop() => throw new NotImplementedException();

    public GpioPulseCount Read() => throw new NotImplementedException();

    public GpioPulseCount Reset() => throw new NotImplementedException();

    public void Dispose() => throw new NotImplementedException();
}
