// A conversation with a controller, over a serial port or TCP. It handles messages, blocks and time-outs; the
// commands decide what is sent.

using System.Globalization;
using System.IO.Ports;
using System.Net;
using System.Net.Sockets;
using System.Text;
using Hourhinge.App.Common;

namespace Hourhinge.App.Link;

/// <summary>The controller cannot be reached, closes the connection, or reports an error. Exit code 3.</summary>
internal sealed class DeviceException(string message) : Exception(message);

/// <summary>An open port to a controller.</summary>
internal sealed class ControllerLink : IDisposable
{
    private const int TimeoutMs = 5000;

    // Longer than the pause after which the controller discards an unfinished block.
    private const int BlockGapMs = 700;
    private const int StopAttempts = 12;

    // ECMA-48's CAN makes the controller discard an unfinished line; a newline would execute it.
    private const string Cancel = "\u0018";

    private readonly string _port;
    private readonly IDisposable _owner;
    private readonly Stream _stream;
    private readonly Action<int> _setReadTimeout;

    private ControllerLink(string port, IDisposable owner, Stream stream, Action<int> setReadTimeout)
    {
        _port = port;
        _owner = owner;
        _stream = stream;
        _setReadTimeout = setReadTimeout;
    }

    /// <summary>Errors that were in the controller's queue when the port was opened, oldest first.</summary>
    public IReadOnlyList<string> ErrorsFound { get; private set; } = [];

    /// <summary>How long the next answers may take, ms; for commands that take the controller seconds.</summary>
    public void SetPatience(int ms) => _setReadTimeout(ms);

    /// <summary>The controller's answer to *IDN?.</summary>
    public string Identity { get; private set; } = "";

    /// <summary>Opens a port and checks that a Hourhinge controller answers on it.</summary>
    public static ControllerLink Open(string port)
    {
        ControllerLink link = OpenPort(port);
        try
        {
            link.Identify();
            return link;
        }
        catch
        {
            link.Dispose();
            throw;
        }
    }

    /// <summary>
    /// Emergency stop: no identification first. Pauses until the controller has discarded a block that another peer
    /// left unfinished, then sends ABORt until the controller's state confirms that nothing moves.
    /// </summary>
    public static void Stop(string port)
    {
        using ControllerLink link = OpenPort(port);
        for (int attempt = 1; attempt <= StopAttempts; attempt++)
        {
            Thread.Sleep(BlockGapMs);
            link.Send(Cancel);
            link.Send("ABORt");
            link.Send("SYSTem:VERSion?;:MOTion:STATe?");
            if (link.ConfirmsStop())
            {
                return;
            }
        }

        throw new DeviceException(
            $"--to {port}: ABORt was sent {StopAttempts} times and not confirmed. Cut the motor's power.");
    }

    /// <summary>Sends a query and returns its answer without the newline.</summary>
    public string Query(string query)
    {
        Send(query);
        return ReadLine();
    }

    /// <summary>Sends a query and returns the definite-length block of its answer.</summary>
    public byte[] QueryBlock(string query)
    {
        Send(query);
        if (ReadByte() != '#')
        {
            throw LinkError("answered no block");
        }

        int digits = ReadByte() - '0';
        string length = Encoding.ASCII.GetString(ReadExactly(Math.Clamp(digits, 1, 9)));
        if (!int.TryParse(length, NumberStyles.None, CultureInfo.InvariantCulture, out int count) || count > 1 << 20)
        {
            throw LinkError("answered a damaged block");
        }

        byte[] block = ReadExactly(count);
        ReadLine();
        return block;
    }

    /// <summary>Sends a command.</summary>
    public void Send(string command) => Write(Encoding.ASCII.GetBytes(command + "\n"));

    /// <summary>Sends a command with a definite-length block.</summary>
    public void SendBlock(string command, byte[] block)
    {
        string length = block.Length.ToString(CultureInfo.InvariantCulture);
        Write([.. Encoding.ASCII.GetBytes($"{command} #{length.Length}{length}"), .. block, (byte)'\n']);
    }

    /// <summary>Sends a command and throws if the controller queued an error for it; <paramref name="what"/> names
    /// it in that error.</summary>
    public void Command(string command, string what)
    {
        Send(command);
        ThrowIfError(what);
    }

    /// <summary>Sends any message and returns the lines of its answer, none for a command; throws when the controller
    /// queued an error for it.</summary>
    public IReadOnlyList<string> Exchange(string message, string what)
    {
        Send(message);
        // The answer to this second message marks the end of the first one's.
        Send("SYSTem:VERSion?;:SYSTem:ERRor?");
        var lines = new List<string>();
        string line = ReadLine();
        for (; !line.StartsWith("1999.0;", StringComparison.Ordinal); line = ReadLine())
        {
            lines.Add(line);
        }

        Throw(line["1999.0;".Length..], what);
        return lines;
    }

    /// <summary>Throws the controller's oldest error, if there is one.</summary>
    public void ThrowIfError(string what)
    {
        Throw(Query("SYSTem:ERRor?"), what);
    }

    private static void Throw(string error, string what)
    {
        if (!error.StartsWith("0,", StringComparison.Ordinal))
        {
            // The controller's own panel and terminal know the header; here the command of that name is meant.
            throw new DeviceException($"the controller refused {what}: "
                + error.Replace("MOTion:POSition:DECLare 0", "hourhinge device at-start", StringComparison.Ordinal));
        }
    }

    public void Dispose()
    {
        _stream.Dispose();
        _owner.Dispose();
    }

    private static ControllerLink OpenPort(string port) =>
        port.StartsWith("tcp:", StringComparison.OrdinalIgnoreCase) ? OpenTcp(port) : OpenSerial(port);

    // Reads lines for at most a second, other peers' answers among them, until one says that nothing moves.
    private bool ConfirmsStop()
    {
        var line = new StringBuilder();
        long until = Environment.TickCount64 + 1000;
        try
        {
            while (Environment.TickCount64 < until)
            {
                _setReadTimeout((int)Math.Max(1, until - Environment.TickCount64));
                int b = _stream.ReadByte();
                if (b < 0)
                {
                    throw LinkError("hung up");
                }

                if (b != '\n')
                {
                    line.Append((char)b);
                    continue;
                }

                if (line.ToString().TrimEnd('\r') is "1999.0;IDLE" or "1999.0;END" or "1999.0;FAULT")
                {
                    return true;
                }

                line.Clear();
            }
        }
        catch (Exception e) when (e is IOException or TimeoutException)
        {
            // Silence: the next attempt follows.
        }

        return false;
    }

    private static ControllerLink OpenTcp(string port)
    {
        string address = port["tcp:".Length..].TrimStart('/');
        if (!IPEndPoint.TryParse(address, out IPEndPoint? end) || end.Port == 0)
        {
            throw new InputException(
                $"--to {port}: must be tcp:ADDRESS:PORT with an IP address and a port of 1 to 65535, such as "
                + "tcp:127.0.0.1:5025.");
        }

        var client = new TcpClient { NoDelay = true };
        try
        {
            if (!client.ConnectAsync(end).Wait(TimeoutMs))
            {
                throw new DeviceException($"--to {port}: no answer within {TimeoutMs / 1000} s.");
            }
        }
        catch (AggregateException e)
        {
            client.Dispose();
            throw new DeviceException(
                $"--to {port}: cannot connect ({e.InnerException!.Message}). Is the controller on, or `hourhinge "
                + "rehearse --serve` running?");
        }

        NetworkStream stream = client.GetStream();
        stream.WriteTimeout = TimeoutMs;
        return new ControllerLink(port, client, stream, ms => stream.ReadTimeout = ms);
    }

    private static ControllerLink OpenSerial(string port)
    {
        SerialPort? serial = null;
        try
        {
            serial = new SerialPort(port, 115200, Parity.None, 8, StopBits.One) { WriteTimeout = TimeoutMs };
            serial.Open();
            SerialPort opened = serial;
            return new ControllerLink(port, serial, serial.BaseStream, ms => opened.BaseStream.ReadTimeout = ms);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException or ArgumentException
            or InvalidOperationException)
        {
            serial?.Dispose();
            string[] ports = SerialPort.GetPortNames();
            string known = ports.Length == 0 ? "no serial port is present" : "present are " + string.Join(", ", ports);
            bool missing = !OperatingSystem.IsWindows() && !File.Exists(port);
            throw new DeviceException(
                $"--to {port}: "
                + $"{(missing ? "there is no such port" : $"cannot open the port ({e.Message.TrimEnd('.')})")}; "
                + $"{known}.");
        }
    }

    private void Identify()
    {
        for (int attempt = 0; ; attempt++)
        {
            try
            {
                // An earlier peer may have left an unfinished line, which must not be executed.
                _setReadTimeout(attempt == 0 ? 1500 : TimeoutMs);
                Send(Cancel);
                Identity = Query("*IDN?");
                break;
            }
            catch (TimeoutException) when (attempt == 0)
            {
                Thread.Sleep(BlockGapMs);
            }
            catch (TimeoutException)
            {
                throw new DeviceException(
                    $"--to {_port}: the port is open but nothing answers; is this the controller?");
            }
        }

        _setReadTimeout(TimeoutMs);
        if (!Identity.StartsWith("Hourhinge,", StringComparison.Ordinal))
        {
            throw new DeviceException($"--to {_port}: this is not a Hourhinge controller; it says {Identity}.");
        }

        // Errors of earlier peers must not be reported as errors of our commands.
        var found = new List<string>();
        for (string error = Query("SYSTem:ERRor?"); !error.StartsWith("0,", StringComparison.Ordinal);
            error = Query("SYSTem:ERRor?"))
        {
            found.Add(error);
        }

        ErrorsFound = found;
    }

    private void Write(byte[] bytes)
    {
        try
        {
            _stream.Write(bytes);
            _stream.Flush();
        }
        catch (Exception e) when (e is IOException or TimeoutException or ObjectDisposedException)
        {
            throw LinkError("hung up");
        }
    }

    private string ReadLine()
    {
        var line = new StringBuilder();
        for (int b = ReadByte(); b != '\n'; b = ReadByte())
        {
            line.Append((char)b);
        }

        return line.ToString().TrimEnd('\r');
    }

    private byte[] ReadExactly(int count)
    {
        byte[] bytes = new byte[count];
        for (int i = 0; i < count; i++)
        {
            bytes[i] = (byte)ReadByte();
        }

        return bytes;
    }

    private int ReadByte()
    {
        int b;
        try
        {
            b = _stream.ReadByte();
        }
        catch (IOException e) when (e.InnerException is SocketException
        {
            SocketErrorCode: SocketError.TimedOut
            or SocketError.WouldBlock
        })
        {
            throw NoAnswer();
        }
        catch (TimeoutException)
        {
            throw NoAnswer();
        }
        catch (Exception e) when (e is IOException or ObjectDisposedException or OperationCanceledException)
        {
            throw LinkError("hung up");
        }

        return b >= 0 ? b : throw LinkError("hung up");
    }

    private Exception NoAnswer() => Identity.Length == 0
        ? new TimeoutException()
        : LinkError($"did not answer within {TimeoutMs / 1000} s");

    private DeviceException LinkError(string what) =>
        new($"--to {_port}: the controller {what}; what it holds was not changed unless a slot was reported.");
}
