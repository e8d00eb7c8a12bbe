using System.Net;
using System.Net.Sockets;
using System.Text;

namespace Hourhinge.Tests.Host.App.Device;

/// <summary>A TCP cable to a served controller that records what the program sends.</summary>
internal sealed class LinkRecorder : IDisposable
{
    private readonly TcpListener _listener = new(IPAddress.Loopback, 0);
    private readonly StringBuilder _sent = new();
    private readonly int _controller;

    public LinkRecorder(int controllerPort)
    {
        _controller = controllerPort;
        _listener.Start();
        _ = Accept();
    }

    /// <summary>For --to.</summary>
    public string Port => $"tcp:127.0.0.1:{((IPEndPoint)_listener.LocalEndpoint).Port}";

    /// <summary>The messages sent so far, one an entry; blocks are left out.</summary>
    public string[] Messages()
    {
        lock (_sent)
        {
            return _sent.ToString().Replace("\u0018", "", StringComparison.Ordinal).Split('\n');
        }
    }

    public void Dispose() => _listener.Stop();

    private async Task Accept()
    {
        try
        {
            while (true)
            {
                using TcpClient client = await _listener.AcceptTcpClientAsync();
                using var controller = new TcpClient("127.0.0.1", _controller);
                client.NoDelay = controller.NoDelay = true;
                Task answers = Copy(controller.GetStream(), client.GetStream(), null);
                await Copy(client.GetStream(), controller.GetStream(), _sent);
                client.Close();
                controller.Close();
                await answers;
            }
        }
        catch (Exception e) when (e is SocketException or ObjectDisposedException)
        {
            // Stopped.
        }
    }

    private static async Task Copy(NetworkStream from, NetworkStream to, StringBuilder? record)
    {
        byte[] buffer = new byte[8192];
        try
        {
            for (int count; (count = await from.ReadAsync(buffer)) > 0;)
            {
                if (record != null)
                {
                    lock (record)
                    {
                        record.Append(Encoding.Latin1.GetString(buffer, 0, count));
                    }
                }

                await to.WriteAsync(buffer.AsMemory(0, count));
            }
        }
        catch (Exception e) when (e is IOException or ObjectDisposedException)
        {
            // One side hung up.
        }
    }
}
