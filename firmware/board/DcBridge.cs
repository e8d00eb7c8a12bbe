// A DC motor on an H-bridge with two inputs, or on a single MOSFET. No control loop here.

using System.Device.Pwm;
using Hourhinge.Firmware.Hardware;

namespace Hourhinge.Board;

/// <summary>
/// PWM on the input of the wanted direction, the other input low: the motor coasts between pulses. Both inputs are
/// low before the direction changes, so they are never high together.
/// </summary>
public sealed class DcBridge : IPwmOutput
{
    private const int FullDuty = 10000;

    private readonly PwmChannel _forward;
    private readonly PwmChannel _backward;
    private int _duty;

    /// <summary>A bridge; both pins must already have PWM functions on one timer.</summary>
    public DcBridge(int forwardPin, int backwardPin, int hertz)
    {
        _forward = Pwm.Open(forwardPin, hertz);
        _backward = Pwm.Open(backwardPin, hertz);
    }

    /// <summary>A single MOSFET: forward only.</summary>
    public DcBridge(int gatePin, int hertz)
    {
        _forward = Pwm.Open(gatePin, hertz);
    }

    /// <inheritdoc/>
    public void SetDutyPerTenThousand(int duty)
    {
        if (duty > FullDuty)
        {
            duty = FullDuty;
        }

        if (duty < -FullDuty)
        {
            duty = -FullDuty;
        }

        if (_backward == null && duty < 0)
        {
            duty = 0;
        }

        if (duty == _duty)
        {
            return;
        }

        if (duty <= 0)
        {
            Pwm.SetDuty(_forward, 0.0);
        }

        if (_backward != null)
        {
            if (duty >= 0)
            {
                Pwm.SetDuty(_backward, 0.0);
            }
            else
            {
                Pwm.SetDuty(_backward, Ratio(-duty));
            }
        }

        if (duty > 0)
        {
            Pwm.SetDuty(_forward, Ratio(duty));
        }

        _duty = duty;
    }

    // The runtime truncates ratio x 10 000; half a unit more makes the truncation exact.
    private static double Ratio(int duty) => duty == FullDuty ? 1.0 : (duty + 0.5) / FullDuty;
}
