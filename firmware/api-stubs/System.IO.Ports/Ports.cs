// Signatures of nanoFramework.System.IO.Ports, less the members that need nanoFramework.System.Text.
// Compile-time only: no body here ever runs.

namespace System.IO.Ports;

/// <summary>Parity bit.</summary>
public enum Parity
{
    None = 0,
    Odd = 1,
    Even = 2,
}

/// <summary>Stop bits.</summary>
public enum StopBits
{
    One = 1,
    Two = 2,
    OnePointFive = 3,
}

/// <summary>Flow control.</summary>
public enum Handshake
{
    None,
    XOnXOff,
    RequestToSend,
    RequestToSendXOnXOff,
}

/// <summary>Ordinary or half-duplex.</summary>
public enum SerialMode
{
    Normal,
    RS485,
}

/// <summary>What came in.</summary>
public enum SerialData
{
    Chars = 1,
    WatchChar = 2,
}

/// <summary>What the event tells.</summary>
public class SerialDataReceivedEventArgs : EventArgs
{
    internal SerialDataReceivedEventArgs()
    {
    }

    public SerialData EventType => throw new NotImplementedException();
}

public delegate void SerialDataReceivedEventHandler(object sender, SerialDataReceivedEventArgs e);

/// <summary>One serial port.</summary>
public sealed class SerialPort : IDisposable
{

    public SerialPort(
        string portName,
        int baudRate = 9600,
        Parity parity = Parity.None,
        int dataBits = 8,
        StopBits stopBits = StopBits.One) => throw new NotImplementedException();

    public event SerialDataReceivedEventHandler DataReceived
    {
        add => throw new NotImplementedException();
        remove => throw new NotImplementedException();
    }

    public int BaudRate
    {
        get => throw new NotImplementedException();
        set => throw new NotImplementedException();
    }

    public Handshake Handshake
    {
        get => throw new NotImplementedException();
        set => throw new NotImplementedException();
    }

    public int DataBits
    {
        get => throw new NotImplementedException();
        set => throw new NotImplementedException();
    }

    public Parity Parity
    {
        get => throw new NotImplementedException();
        set => throw new NotImplementedException();
    }

    public SerialMode Mode
    {
        get => throw new NotImplementedException();
        set => throw new NotImplementedException();
    }

    public StopBits StopBits
    {
        get => throw new NotImplementedException();
        set => throw new NotImplementedException();
    }

    public string PortName => throw new NotImplementedException();

    public char WatchChar
    {
        get => throw new NotImplementedException();
        set => throw new NotImplementedException();
    }

    public bool IsOpen => throw new NotImplementedException();

    public string NewLine
    {
        get => throw new NotImplementedException();
        set => throw new NotImplementedException();
    }

    public int ReadTimeout
    {
        get => throw new NotImplementedException();
        set => throw new NotImplementedException();
    }

    public int WriteTimeout
    {
        get => throw new NotImplementedException();
        set => throw new NotImplementedException();
    }

    public int ReceivedBytesThreshold
    {
        get => throw new NotImplementedException();
        set => throw new NotImplementedException();
    }

    public Stream BaseStream => throw new NotImplementedException();

    public int BytesToRead => throw new NotImplementedException();

    public int ReadBufferSize
    {
        get => throw new NotImplementedException();
        set => throw new NotImplementedException();
    }

    public int WriteBufferSize
    {
        get => throw new NotImplementedException();
        set => throw new NotImplementedException();
    }

    public static string[] GetPortNames() => throw new NotImplementedException();

    public void Open() => throw new NotImplementedException();

    public void Close() => throw new NotImplementedException();

    public int Read(byte[] buffer, int offset, int count) => throw new NotImplementedException();

    public int ReadByte() => throw new NotImplementedException();

    public string ReadExisting() => throw new NotImplementedException();

    public string ReadLine() => throw new NotImplementedException();

    public void Write(byte[] buffer, int offset, int count) => throw new NotImplementedException();


    public void Write(string text) => throw new NotImplementedException();

    public void WriteLine(string text) => throw new NotImplementedException();

    public void Dispose() => throw new NotImplementedException();
}
