// A step/direction driver on three pins, and a PWM pin that is joined to the step pin by a diode OR. It makes pulses
// and does not count them.

using System.Device.Gpio;
using System.Device.Pwm;
using Hourhinge.Firmware.Hardware;

namespace Hourhinge.Board;

/// <summary>Step, direction, enable, and a hardware pulse train for the fast leg of a rewind.</summary>
public sealed class StepDriver : IStepOutput
{
    // Microseconds that small drivers ask for between a change of direction and a step, and as the width of a step,
    // are 0.2 to 2: one managed call takes longer than that.
    private const double TrainDuty = 0.5;

    private readonly GpioPin _step;
    private readonly GpioPin _direction;
    private readonly GpioPin _enable;
    private readonly PwmChannel _train;
    private int _trainHertz;

    /// <summary>Opens the pins with the coils off. The train's pin must already have its PWM function.</summary>
    public StepDriver(GpioController pins, int step, int train, int direction, int enable)
    {
        _enable = pins.OpenPin(enable, PinMode.Output);
        _enable.Write(PinValue.High);
        _step = pins.OpenPin(step, PinMode.Output);
        _step.Write(PinValue.Low);
        _direction = pins.OpenPin(direction, PinMode.Output);
        _direction.Write(PinValue.High);
        _train = Pwm.Open(train, 100);
    }

    /// <inheritdoc/>
    public void SetEnabled(bool on) => _enable.Write(on ? PinValue.Low : PinValue.High);

    /// <inheritdoc/>
    public void SetDirection(bool forward) => _direction.Write(forward ? PinValue.High : PinValue.Low);

    /// <inheritdoc/>
    public void Pulse()
    {
        _step.Write(PinValue.High);
        _step.Write(PinValue.Low);
    }

    /// <inheritdoc/>
    public void RunAtHertz(int stepsPerSec)
    {
        if (stepsPerSec == _trainHertz)
        {
            return;
        }

        _trainHertz = stepsPerSec;
        if (stepsPerSec <= 0)
        {
            _train.DutyCycle = 0.0;
            return;
        }

        _train.Frequency = stepsPerSec; // Never 0: the runtime divides by it.
        _train.DutyCycle = TrainDuty;
    }
}
