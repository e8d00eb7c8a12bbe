using System.Net;
using System.Net.Sockets;
using System.Text;
using System.Text.RegularExpressions;

namespace Hourhinge.Tests.Host.App.Link;

/// <summary>A TCP peer with a behaviour of its own; one connection after the other.</summary>
internal sealed partial class FakePeer : IDisposable
{
    private readonly TcpListener _listener = new(IPAddress.Loopback, 0);

    /// <summary>Serves each connection with this behaviour until it returns.</summary>
    public FakePeer(Action<NetworkStream> behaviour)
    {
        _listener.Start();
        new Thread(() => Serve(behaviour)) { IsBackground = true, Name = "fake peer" }.Start();
    }

    /// <summary>For --to.</summary>
    public string Port => $"tcp:127.0.0.1:{((IPEndPoint)_listener.LocalEndpoint).Port}";

    /// <summary>A peer that answers requests as the protocol demands, marks included, with these answers.</summary>
    /// <param name="answer">The answer to a query, null for none.</param>
    /// <param name="greeting">What it sends before the first answer.</param>
    public static FakePeer Answering(Func<string, string?> answer, string greeting = "") => new(stream =>
    {
        Send(stream, greeting);
        using var reader = new StreamReader(stream, Encoding.Latin1, false, 1, leaveOpen: true);
        for (string? line = reader.ReadLine(); line != null; line = reader.ReadLine())
        {
            Match request = Request().Match(line);
            string?[] parts = [.. request.Groups[2].Value.Split(';').Select(answer)];
            string? text = request.Success && !parts.Contains(null) ? string.Join(';', parts) : null;
            if (text != null)
            {
                int marks = request.Groups[1].Captures.Count;
                string run = string.Concat(Enumerable.Repeat("1999.0;", marks));
                Send(stream, (text.Length == 0 ? run.TrimEnd(';') : run + text) + "\n");
            }
        }
    });

    /// <summary>Sends Latin-1 text.</summary>
    public static void Send(NetworkStream stream, string text) => stream.Write(Encoding.Latin1.GetBytes(text));

    /// <summary>A healthy controller's answers.</summary>
    public static string? Healthy(string query) => query switch
    {
        "*IDN?" => "Hourhinge,Hinge controller,0,1.1",
        "MOTion:STATe?" => "IDLE",
        "LATeness?" => "0.000000,0.000000",
        "FAULt?" => "0,\"no fault\"",
        ":SHUTter:STATe?" => "OFF,\"\"",
        "SYSTem:ERRor?" => "0,\"No error\"",
        "PROFile:NAME?" => "\"Heron\"",
        "PROFile:SLOT?" => "0,1",
        "PROFile:DATA?" or "RIG:DATA?" => "#15abcde",
        _ => "0",
    };

    public void Dispose() => _listener.Stop();

    private void Serve(Action<NetworkStream> behaviour)
    {
        while (true)
        {
            try
            {
                using TcpClient client = _listener.AcceptTcpClient();
                behaviour(client.GetStream());
            }
            catch (IOException)
            {
                // The host hung up: the next connection.
            }
            catch (Exception e) when (e is SocketException or InvalidOperationException)
            {
                return;
            }
        }
    }

    [GeneratedRegex(@"(:SYSTem:VERSion\?;)+:?(.*)$")]
    private static partial Regex Request();
}
