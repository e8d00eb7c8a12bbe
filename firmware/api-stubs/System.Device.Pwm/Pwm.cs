// Signatures of nanoFramework.System.Device.Pwm. Compile-time only: no body here ever runs.

namespace System.Device.Pwm;

/// <summary>One PWM channel.</summary>
public sealed class PwmChannel : IDisposable
{
    public PwmChannel(int chip, int channel, int frequency = 400, double dutyCyclePercentage = 0.5) =>
        throw new NotImplementedException();

    public int Frequency
    {
        get => throw new NotImplementedException();
        set => throw new NotImplementedException();
    }

    public double DutyCycle
    {
        get => throw new NotImplementedException();
        set => throw new NotImplementedException();
    }

    public static PwmChannel Create(int chip, int channel, int frequency = 400, double dutyCyclePercentage = 0.5) =>
        throw new NotImplementedException();

    public static PwmChannel CreateFromPin(int pin, int frequency = 400, double dutyCyclePercentage = 0.5) =>
        throw new NotImplementedException();

    public void Start() => throw new NotImplementedException();

    public void Stop() => throw new NotImplementedException();

    public void Dispose() => throw new NotImplementedException();
}
