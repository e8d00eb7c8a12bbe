// The interfaces between the controller's logic and the hardware: the board (firmware/board) or the virtual board
// (host/rehearsal). No pin numbers here. No member may block: with a slow peer or a full buffer a call returns a
// short count.

namespace Hourhinge.Firmware.Hardware;

/// <summary>A monotonic clock that does not wrap in the controller's lifetime.</summary>
public interface IClock
{
    /// <summary>Microseconds since power-up, by the board's own crystal, untrimmed.</summary>
    long NowMicroseconds { get; }
}

/// <summary>A step/direction driver.</summary>
public interface IStepOutput
{
    /// <summary>Energizes or releases the motor's coils.</summary>
    void SetEnabled(bool on);

    /// <summary>Sets the direction of the next steps. Forward is the direction of tracking.</summary>
    void SetDirection(bool forward);

    /// <summary>Makes one step pulse, wide enough for the driver, and returns.</summary>
    void Pulse();

    /// <summary>
    /// Starts a hardware pulse train of whole hertz, changes its frequency, or stops it with 0: no pulse begins after
    /// that. The first pulse comes a period after the start. A change begins a new period: a pulse that was high stays
    /// so, and where the output was low, in the last quarter of a period, a pulse begins at once. The frequency may be
    /// some tenths of a percent off.
    /// </summary>
    void RunAtHertz(int stepsPerSec);
}

/// <summary>Counts the pulses on the driver's STEP input, whoever makes them.</summary>
public interface IPulseCounter
{
    /// <summary>Pulses since power-up, whatever their direction. Not for every pass: a board allocates here.</summary>
    long ReadPulses();
}

/// <summary>A DC motor's bridge or MOSFET, driven by PWM.</summary>
public interface IPwmOutput
{
    /// <summary>Sets the duty, -10000 (full speed backward) to 10000 (full speed forward); 0 lets the motor
    /// stop.</summary>
    /// <remarks>A drive without a bridge treats negative duty as 0.</remarks>
    void SetDutyPerTenThousand(int duty);
}

/// <summary>A quadrature counter on the motor or on the nut.</summary>
public interface IEncoder
{
    /// <summary>Counts since power-up, rising when the motor runs forward.</summary>
    long Counts { get; }
}

/// <summary>A switch or a button, already turned into "is it active?".</summary>
public interface IInputPin
{
    /// <summary>True while the switch is closed or the button is held.</summary>
    bool IsActive { get; }
}

/// <summary>An on-off output: the LED, the shutter, the keep-alive load.</summary>
public interface IOutputPin
{
    /// <summary>Switches the output.</summary>
    void Set(bool on);
}

/// <summary>The supply voltage, in front of the divider.</summary>
public interface ISupplyMeter
{
    /// <summary>Supply in millivolts, or -1 where no meter is fitted.</summary>
    int ReadMillivolts();
}

/// <summary>Two areas of flash, each able to hold one slot. A write that is cut short by a power loss may leave any
/// contents.</summary>
public interface IStorage
{
    /// <summary>Bytes in each area.</summary>
    int AreaSizeBytes { get; }

    /// <summary>Reads up to <paramref name="count"/> bytes of an area (0 or 1); returns how many were there, or -1
    /// when the area cannot be read.</summary>
    int Read(int area, int offset, byte[] buffer, int index, int count);

    /// <summary>Writes bytes of an area (0 or 1); false when the flash refused.</summary>
    bool Write(int area, int offset, byte[] buffer, int index, int count);
}

/// <summary>A stream of bytes to and from a peer: serial port, or TCP on the virtual board.</summary>
public interface IByteLink
{
    /// <summary>Number of the connection whose bytes <see cref="Read"/> returns next; it rises when a new peer has
    /// connected. Constant on a serial line, which cannot tell.</summary>
    int Connections { get; }

    /// <summary>Reads up to <paramref name="count"/> bytes that have already arrived; 0 when there are
    /// none.</summary>
    int Read(byte[] buffer, int index, int count);

    /// <summary>Writes up to <paramref name="count"/> bytes; returns how many were accepted, 0 when the peer is
    /// slow.</summary>
    int Write(byte[] buffer, int index, int count);
}
