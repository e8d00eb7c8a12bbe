// The one place to change pins, for a plain ESP32 module. hardware-notes/pin-map.md says why each pin was chosen;
// a test compares the two. No code here, only numbers.

namespace Hourhinge.Board;

/// <summary>GPIO numbers of the module and the few electrical facts that belong to them.</summary>
public static class BoardPins
{
    /// <summary>Step pulse made by the loop; meets <see cref="StepTrain"/> in a diode OR.</summary>
    public const int Step = 25;

    /// <summary>Step pulses made by the PWM peripheral, for the fast leg of a rewind.</summary>
    public const int StepTrain = 26;

    /// <summary>Direction of the stepper's driver; high is forward.</summary>
    public const int Direction = 27;

    /// <summary>Enable of the stepper's driver; low energises the coils.</summary>
    public const int DriverEnable = 13;

    /// <summary>PWM for the DC motor running forward; alone, the gate of a single MOSFET.</summary>
    public const int MotorForward = 18;

    /// <summary>PWM for the DC motor running backward.</summary>
    public const int MotorBackward = 19;

    /// <summary>Encoder, phase A.</summary>
    public const int EncoderA = 32;

    /// <summary>Encoder, phase B.</summary>
    public const int EncoderB = 33;

    /// <summary>
    /// Counts the pulses back, over a wire from the driver's STEP. The encoder's second pin: a stepper has no encoder.
    /// </summary>
    public const int StepCount = EncoderB;

    /// <summary>Home switch, normally closed to ground.</summary>
    public const int HomeSwitch = 22;

    /// <summary>End switch, normally closed to ground; an input-only pin.</summary>
    public const int EndSwitch = 35;

    /// <summary>Button to ground.</summary>
    public const int Button = 21;

    /// <summary>Indicator LED.</summary>
    public const int Led = 4;

    /// <summary>Optocoupler of the camera's remote release.</summary>
    public const int Shutter = 23;

    /// <summary>MOSFET of the keep-alive load.</summary>
    public const int KeepAlive = 14;

    /// <summary>Serial link, out of the module.</summary>
    public const int SerialTransmit = 17;

    /// <summary>Serial link, into the module.</summary>
    public const int SerialReceive = 16;

    /// <summary>Supply divider; an input-only pin of the first converter.</summary>
    public const int SupplySense = 34;

    /// <summary>Channel of the first converter that <see cref="SupplySense"/> is wired to inside the ESP32.</summary>
    public const int SupplyAdcChannel = 6;

    /// <summary>
    /// Supply that would read full scale, mV: the divider's 3:1 times the converter's 3.3 V. Nominal; replace both
    /// numbers by those measured at two supplies (hardware-notes/first-power-up.md).
    /// </summary>
    public const int SupplyFullScaleMillivolts = 9900;

    /// <summary>Below this supply the board moves nothing, mV: the regulator's dropout above its 3.3 V (notes:
    /// power.md).</summary>
    public const int SupplyMinMillivolts = 4200;

    /// <summary>Supply that would read zero, mV: 3 x 0.14 V, below which the converter sees nothing.</summary>
    public const int SupplyZeroMillivolts = 430;

    /// <summary>True for an H-bridge with two inputs, false for a single MOSFET.</summary>
    public const bool BridgeFitted = true;

    /// <summary>PWM frequency of the DC motor, Hz: the highest with 15 bits of duty is 80 MHz / 2^15 = 2441
    /// Hz.</summary>
    public const int MotorPwmHertz = 2400;
}
