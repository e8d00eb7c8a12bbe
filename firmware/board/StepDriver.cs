// A step/direction driver on three pins, and a PWM pin that is joined to the step pin by a diode OR. It makes pulses
// and does not count them.

using System.Device.Gpio;
using System.Device.Pwm;
using Hourhinge.Firmware.Hardware;

namespace Hourhinge.Board;

/// <summary>Step, direction, enable, and a hardware pulse train for the fast leg of a rewind and for
/// tracking.</summary>
public sealed class StepDriver : IStepOutput
{
    // Microseconds that small drivers ask for between a change of direction and a step, and as the width of a step,
    // are 0.2 to 2: one managed call takes longer than that.

    // A change of frequency begins a new period, and a pulse where the output was low: with a low quarter, pulses are
    // never closer than three quarters of a period.
    private const double TrainDuty = 0.75;

    private readonly GpioPin _step;
    private readonly GpioPin _direction;
    private readonly GpioPin _enable;
    private readonly PwmChannel _train;
    private int _trainHertz;
    private bool _enabled;
    private bool _forward = true;

    /// <summary>Opens the pins with the coils off. The train's pin must already have its PWM function.</summary>
    public StepDriver(GpioController pins, int step, int train, int direction, int enable)
    {
        _enable = pins.OpenPin(enable, PinMode.InputPullUp);
        _step = pins.OpenPin(step, PinMode.Output);
        _step.Write(PinValue.Low);
        _direction = pins.OpenPin(direction, PinMode.Output);
        _direction.Write(PinValue.High);
        _train = Pwm.Open(train, 100);
    }

    /// <summary>
    /// Low energizes the coils. The runtime makes every pin that becomes an output low first, so the pin is an output
    /// only while the coils are on; as an input it is held high by the module and by the resistor outside.
    /// </summary>
    public void SetEnabled(bool on)
    {
        if (on != _enabled)
        {
            _enabled = true; // Until they are off: a failure is tried again.
            _enable.SetPinMode(on ? PinMode.Output : PinMode.InputPullUp);
            _enabled = on;
        }
    }

    /// <inheritdoc/>
    public void SetDirection(bool forward)
    {
        if (forward != _forward)
        {
            _forward = forward;
            _direction.Toggle();
        }
    }

    /// <summary>Two toggles: they allocate nothing and take a fifth of the time of two writes.</summary>
    public void Pulse()
    {
        _step.Toggle();
        _step.Toggle();
    }

    /// <inheritdoc/>
    public void RunAtHertz(int stepsPerSec)
    {
        if (stepsPerSec == _trainHertz)
        {
            return;
        }

        if (stepsPerSec <= 0)
        {
            Pwm.SetDuty(_train, 0.0);
            _trainHertz = 0; // Only now: a failure is tried again.
            return;
        }

        _trainHertz = stepsPerSec;

        _train.Frequency = stepsPerSec; // Never 0: the runtime divides by it.
        Pwm.SetDuty(_train, TrainDuty);
    }
}
