// Pins and PWM channels that remember, under the names that the board's classes are written against. The board's own
// source files are compiled into the tests beside these (Hourhinge.Tests.csproj).

#pragma warning disable IDE0130 // The namespaces are the runtime's.
#pragma warning disable CA1716, CA1720, CA1822

namespace System.Device.Pwm
{
    public sealed class PwmChannel
    {
        private double _duty;
        private int _frequency;

        private PwmChannel(int pin, int frequency, double duty)
        {
            Pin = pin;
            _frequency = frequency;
            _duty = duty;
        }

        /// <summary>Every channel that was opened since the last reset.</summary>
        public static List<PwmChannel> All { get; } = [];

        /// <summary>Called after every change.</summary>
        public static Action? Changed { get; set; }

        /// <summary>True when every duty fails.</summary>
        public static bool Failing { get; set; }

        public int Pin { get; }

        public bool Running { get; private set; }

        public double DutyCycle
        {
            get => _duty;
            set
            {
                ArgumentOutOfRangeException.ThrowIfNegative(value);
                ArgumentOutOfRangeException.ThrowIfGreaterThan(value, 1.0);

                if (Failing)
                {
                    throw new InvalidOperationException("the channel fails");
                }

                // As the runtime does: the first duty after zero is only stored.
                OutputDuty = _duty == 0 ? OutputDuty : value;
                _duty = value;
                Changed?.Invoke();
            }
        }

        /// <summary>What the pin does.</summary>
        public double OutputDuty { get; private set; }

        public int Frequency
        {
            get => _frequency;
            set
            {
                ArgumentOutOfRangeException.ThrowIfNegativeOrZero(value);
                _frequency = value;
                Changed?.Invoke();
            }
        }

        public static PwmChannel? CreateFromPin(int pin, int frequency, double duty)
        {
            if (pin < 0)
            {
                return null;
            }

            PwmChannel channel = new(pin, frequency, duty);
            All.Add(channel);
            return channel;
        }

        public void Start() => Running = true;
    }
}

namespace System.Device.Gpio
{
    public enum PinMode
    {
        Input,
        InputPullUp,
        Output,
    }

    public readonly record struct PinValue(bool IsHigh)
    {
        public static PinValue High => new(true);

        public static PinValue Low => new(false);
    }

    public sealed class GpioPin
    {
        public List<bool> Levels { get; } = [];

        public PinMode Mode { get; private set; }

        public void SetPinMode(PinMode mode)
        {
            Mode = mode;
            // As the runtime does: a new output is low.
            Levels.Add(mode != PinMode.Output);
        }

        public void Write(PinValue value) => Levels.Add(Mode == PinMode.Output
            ? value.IsHigh
            : throw new ArgumentException("a pin that is not an output"));

        public void Toggle() => Levels.Add(!Levels[^1]);
    }

    public sealed class GpioController
    {
        public Dictionary<int, GpioPin> Pins { get; } = [];

        public GpioPin OpenPin(int pin, PinMode mode)
        {
            Pins.Add(pin, new GpioPin());
            Pins[pin].SetPinMode(mode);
            return Pins[pin];
        }
    }
}
