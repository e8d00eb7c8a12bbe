// How this board opens a PWM pin: running, at zero duty. A channel is never stopped afterwards, because runtime
// versions differ in whether a stopped channel starts again when its duty is set.

using System;
using System.Device.Pwm;

namespace Hourhinge.Board;

/// <summary>Opens PWM channels at zero duty.</summary>
public static class Pwm
{
    /// <summary>A running channel at zero duty, or an exception that names the pin.</summary>
    public static PwmChannel Open(int pin, int hertz)
    {
        PwmChannel channel = PwmChannel.CreateFromPin(pin, hertz, 0.0);
        if (channel == null)
        {
            throw new InvalidOperationException("Pin " + pin.ToString() + " has no PWM function.");
        }

        channel.Start();
        return channel;
    }

    /// <summary>
    /// Sets the duty. The runtime only stores the first duty that follows zero and does not output it (read from its
    /// source, nf-interpreter 007e448), so it is set twice then.
    /// </summary>
    public static void SetDuty(PwmChannel channel, double duty)
    {
        bool wasZero = channel.DutyCycle == 0.0;
        channel.DutyCycle = duty;
        if (wasZero)
        {
            channel.DutyCycle = duty;
        }
    }
}
