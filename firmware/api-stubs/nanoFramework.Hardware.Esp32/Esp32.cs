// Signatures of nanoFramework.Hardware.Esp32: timer, pin functions. Compile-time only: no body here ever runs.

using System;

namespace nanoFramework.Hardware.Esp32;

public delegate void HighResTimerExpiredEventHandler(HighResTimer sender, object e);

/// <summary>The 64-bit microsecond timer.</summary>
public class HighResTimer : IDisposable
{
    public event HighResTimerExpiredEventHandler OnHighResTimerExpired
    {
        add => throw new NotImplementedException();
        remove => throw new NotImplementedException();
    }

    public static ulong GetCurrent() => throw new NotImplementedException();

    public void Stop() => throw new NotImplementedException();

    public void StartOneShot(ulong timeout_us) => throw new NotImplementedException();

    public void StartOnePeriodic(ulong period_us) => throw new NotImplementedException();

    public void Dispose() => throw new NotImplementedException();

    protected virtual void Dispose(bool disposing) => throw new NotImplementedException();
}

/// <summary>Which pin does what.</summary>
public class Configuration
{
    public static void SetPinFunction(int pin, DeviceFunction value) => throw new NotImplementedException();

    public static int GetFunctionPin(DeviceFunction function) => throw new NotImplementedException();
}

/// <summary>
/// The functions that this board uses; the real enumeration has more. Values: kind of device times 65536
/// (serial 3, PWM 4, ADC 5), number of the device times 256, number of the line.
/// </summary>
public enum DeviceFunction
{
    COM1_TX = (3 * 65536) + (1 * 256) + 0,
    COM1_RX = (3 * 65536) + (1 * 256) + 1,
    COM2_TX = (3 * 65536) + (2 * 256) + 0,
    COM2_RX = (3 * 65536) + (2 * 256) + 1,
    COM3_TX = (3 * 65536) + (3 * 256) + 0,
    COM3_RX = (3 * 65536) + (3 * 256) + 1,
    PWM1 = (4 * 65536) + (1 * 256),
    PWM2 = (4 * 65536) + (2 * 256),
    PWM3 = (4 * 65536) + (3 * 256),
    PWM4 = (4 * 65536) + (4 * 256),
    ADC1_CH4 = (5 * 65536) + (1 * 256) + 4,
    ADC1_CH5 = (5 * 65536) + (1 * 256) + 5,
    ADC1_CH6 = (5 * 65536) + (1 * 256) + 6,
    ADC1_CH7 = (5 * 65536) + (1 * 256) + 7,
}
