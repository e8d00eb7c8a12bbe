// Connects peers to the served controller: TCP connections one after the other, and a pseudo-terminal.

using System.Net;
using System.Net.Sockets;
using Hourhinge.App.Link;
using Hourhinge.Rehearsal.Board;

namespace Hourhinge.App.Rehearse.Serve;

/// <summary>
/// One peer at a time speaks with the controller: a new TCP connection ends the one before it, as a plug is moved to
/// another computer. So no peer, silent or gone, can keep the next one out. Answers go to the present peer only.
/// </summary>
internal sealed class PeerHub : IDisposable
{
    // Largest number of bytes that wait for a peer; with more, the firmware sees a slow one.
    private const int PeerRoom = 16384;

    private readonly TcpListener _listener;
    private readonly Lock _lock = new();
    private Peer? _present;
    private volatile bool _closed;

    /// <summary>Listens on the loopback; port 0 takes a free one.</summary>
    public PeerHub(int port)
    {
        _listener = new TcpListener(IPAddress.Loopback, port);
        try
        {
            _listener.Start();
        }
        catch (SocketException e)
        {
            throw new DeviceException(
                $"--port {port}: cannot listen on 127.0.0.1 ({e.Message}); is another rehearsal being served?");
        }
    }

    /// <summary>The controller's end.</summary>
    public ByteQueueLink Link { get; } = new() { PeerBufferBytes = PeerRoom };

    /// <summary>The TCP port that is listened on.</summary>
    public int Port => ((IPEndPoint)_listener.LocalEndpoint).Port;

    /// <summary>Begins to serve; with a terminal's stream, that one too.</summary>
    public void Start(Stream? terminal)
    {
        Run("accept", Accept);
        if (terminal != null)
        {
            new Peer(this, terminal, null).Start();
        }
    }

    public void Dispose()
    {
        _closed = true;
        _listener.Stop();
        lock (_lock)
        {
            _present?.Close();
        }
    }

    private static void Run(string name, Action work) =>
        new Thread(() => work()) { IsBackground = true, Name = name }.Start();

    private void Accept()
    {
        while (!_closed)
        {
            TcpClient? client = null;
            try
            {
                client = _listener.AcceptTcpClient();
                client.NoDelay = true;
                var peer = new Peer(this, client.GetStream(), client);
                lock (_lock)
                {
                    _present?.Close();
                    _present = peer;
                    Link.Connect();
                }

                peer.Start();
            }
            catch (Exception e) when (e is SocketException or InvalidOperationException or IOException)
            {
                // The peer has hung up already, or the system is short of something: the next one is waited for.
                client?.Dispose();
                Thread.Sleep(1);
            }
        }
    }

    // One peer: a thread reads it, another writes to it. Only the present peer is heard and answered.
    private sealed class Peer(PeerHub hub, Stream stream, TcpClient? client)
    {
        private volatile bool _gone;

        public void Start()
        {
            Run("peer in", Listen);
            Run("peer out", Answer);
        }

        // A terminal stays open: it becomes the present peer again when it sends.
        public void Close()
        {
            _gone = client != null;
            client?.Dispose();
        }

        private void Listen()
        {
            byte[] buffer = new byte[4096];
            try
            {
                for (int count = stream.Read(buffer); count > 0; count = stream.Read(buffer))
                {
                    while (hub.Link.UnreadBytes > PeerRoom && !_gone && !hub._closed)
                    {
                        Thread.Sleep(1);
                    }

                    lock (hub._lock)
                    {
                        if (client == null && hub._present != this)
                        {
                            hub._present?.Close();
                            hub._present = this;
                        }

                        if (hub._present == this)
                        {
                            hub.Link.Send(buffer.AsSpan(0, count));
                        }
                    }
                }
            }
            catch (Exception e) when (IsHangUp(e))
            {
                // The peer has hung up. The controller notices by the next connection, or by its time-outs.
            }

            Close();
        }

        private static bool IsHangUp(Exception e) =>
            e is IOException or InvalidOperationException or OperationCanceledException or SocketException;

        // Answers are polled: the firmware never waits for a peer. A peer that does not read blocks this thread only.
        private void Answer()
        {
            try
            {
                while (!_gone && !hub._closed)
                {
                    byte[] answer = [];
                    lock (hub._lock)
                    {
                        if (hub._present == this)
                        {
                            answer = hub.Link.Receive();
                        }
                    }

                    if (answer.Length == 0)
                    {
                        Thread.Sleep(1);
                    }
                    else
                    {
                        stream.Write(answer);
                    }
                }
            }
            catch (Exception e) when (IsHangUp(e))
            {
                // The peer is gone; its answers are lost, as on an unplugged cable.
            }
        }
    }
}
