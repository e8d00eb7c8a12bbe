// Opens a port and moves bytes with a deadline. Why a port cannot be opened is told here; the conversation is
// ControllerLink.cs.

using System.IO.Ports;
using System.Net;
using System.Net.Sockets;
using Hourhinge.App.Common;

namespace Hourhinge.App.Link;

/// <summary>A serial port or a TCP connection. Nothing here waits without end.</summary>
internal sealed class LinkPort : IDisposable
{
    /// <summary>The controller's speed on a serial port.</summary>
    public const int BaudRate = 115200;

    private const int WriteTimeoutMs = 5000;
    private const int ConnectTimeoutMs = 5000;

    // Linux, errno.h; the system's number is the HResult of .NET's exception, or of the one inside: .NET calls every
    // port that does not open unauthorized.
    private const int NotPermitted = 1;
    private const int WouldBlock = 11;
    private const int AccessDenied = 13;
    private const int DeviceBusy = 16;

    private readonly TcpClient? _client;
    private readonly SerialPort? _serial;
    private readonly Stream _stream;

    private LinkPort(string name, TcpClient client)
    {
        Name = name;
        _client = client;
        _stream = client.GetStream();
        _stream.WriteTimeout = WriteTimeoutMs;
    }

    private LinkPort(string name, SerialPort serial)
    {
        Name = name;
        _serial = serial;
        _stream = serial.BaseStream;
    }

    /// <summary>As it was given to --to.</summary>
    public string Name { get; }

    /// <summary>Opens a port.</summary>
    public static LinkPort Open(string port) =>
        port.StartsWith("tcp:", StringComparison.OrdinalIgnoreCase) ? OpenTcp(port) : OpenSerial(port);

    /// <summary>Reads what has arrived, or waits for the first byte.</summary>
    /// <param name="buffer">Where the bytes go.</param>
    /// <param name="waitMs">How long to wait, ms.</param>
    /// <returns>The number of bytes; 0 when none came in time.</returns>
    public int Read(Span<byte> buffer, int waitMs)
    {
        int count;
        try
        {
            if (_client != null && !_client.Client.Poll(waitMs * 1000, SelectMode.SelectRead))
            {
                return 0;
            }

            if (_serial != null)
            {
                _stream.ReadTimeout = Math.Max(1, waitMs);
            }

            count = _stream.Read(buffer);
        }
        catch (TimeoutException)
        {
            return 0;
        }
        catch (Exception e) when (IsLoss(e))
        {
            throw Lost();
        }

        return count > 0 ? count : throw Lost();
    }

    /// <summary>Sends bytes.</summary>
    public void Write(byte[] bytes)
    {
        try
        {
            _stream.Write(bytes);
            _stream.Flush();
        }
        catch (TimeoutException)
        {
            throw new LinkLostException($"--to {Name}: the controller takes no data.");
        }
        catch (Exception e) when (IsLoss(e))
        {
            throw Lost();
        }
    }

    public void Dispose()
    {
        try
        {
            _client?.Dispose();
            _serial?.Dispose();
        }
        catch (Exception e) when (IsLoss(e))
        {
            // The adapter has been pulled out: there is nothing left to close.
        }
    }

    /// <summary>Why a serial port could not be opened, as the end of a sentence.</summary>
    /// <param name="e">What .NET threw.</param>
    /// <param name="onWindows">There, a port in use is reported as denied access.</param>
    public static string ReasonNotOpened(Exception e, bool onWindows)
    {
        int code = (e.InnerException ?? e).HResult & 0xFFFF;
        bool isBusy = code is DeviceBusy or WouldBlock || (onWindows && e is UnauthorizedAccessException);
        return isBusy ? "the port is in use: another program has it open; close that program"
            : e is UnauthorizedAccessException && code is (NotPermitted or AccessDenied)
                ? "permission is denied: on Linux add yourself to the port's group (often `dialout`) and log in again"
            : e is FileNotFoundException or DirectoryNotFoundException ? "there is no such port"
            : $"cannot open the port ({VisibleText.Of((e.InnerException ?? e).Message.TrimEnd('.'))})";
    }

    private static LinkPort OpenTcp(string port)
    {
        string address = port["tcp:".Length..].TrimStart('/');
        if (!IPEndPoint.TryParse(address, out IPEndPoint? end) || end.Port == 0)
        {
            throw new InputException(
                $"--to {port}: must be tcp:ADDRESS:PORT with an IP address and a port of 1 to 65535, such as "
                + "tcp:127.0.0.1:5025.");
        }

        var client = new TcpClient(end.AddressFamily) { NoDelay = true };
        try
        {
            if (!client.ConnectAsync(end).Wait(ConnectTimeoutMs))
            {
                client.Dispose();
                throw new DeviceException($"--to {port}: no answer within {ConnectTimeoutMs / 1000} s.");
            }

            return new LinkPort(port, client);
        }
        catch (Exception e) when (e is AggregateException or InvalidOperationException)
        {
            client.Dispose();
            throw new DeviceException(
                $"--to {port}: cannot connect ({(e.InnerException ?? e).Message.TrimEnd('.')}). Is the controller "
                + "on, or "
                + "`hourhinge rehearse --serve` running?");
        }
    }

    private static LinkPort OpenSerial(string port)
    {
        SerialPort? serial = null;
        try
        {
            serial = new SerialPort(port, BaudRate, Parity.None, 8, StopBits.One) { WriteTimeout = WriteTimeoutMs };
            serial.Open();
            return new LinkPort(port, serial);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException or ArgumentException
            or InvalidOperationException)
        {
            serial?.Dispose();
            bool onWindows = OperatingSystem.IsWindows();
            if (onWindows || File.Exists(port))
            {
                throw new DeviceException($"--to {port}: {ReasonNotOpened(e, onWindows)}.");
            }

            string[] ports = SerialPort.GetPortNames();
            string known = ports.Length == 0 ? "no serial port is present" : "present are " + string.Join(", ", ports);
            string network = IPEndPoint.TryParse(port, out IPEndPoint? end) && end.Port > 0
                ? $"; for a network address write tcp:{port}" : "";
            throw new DeviceException($"--to {port}: there is no such port; {known}{network}.");
        }
    }

    private static bool IsLoss(Exception e) =>
        e is IOException or ObjectDisposedException or OperationCanceledException or SocketException
            or InvalidOperationException or UnauthorizedAccessException;

    private LinkLostException Lost() => new($"--to {Name}: the controller hung up.");
}
