using System.Net;
using System.Net.Sockets;

namespace Hourhinge.Tests.Host.App.Link;

/// <summary>Between host and controller: passes bytes both ways and cuts a connection after so many of them.</summary>
internal sealed class CuttingProxy : IDisposable
{
    private readonly TcpListener _listener = new(IPAddress.Loopback, 0);
    private readonly int _target;
    private volatile int _toController = -1;
    private volatile int _toHost = -1;
    private volatile int _refuse;

    /// <summary>Passes connections to a port of this machine.</summary>
    public CuttingProxy(int target)
    {
        _target = target;
        _listener.Start();
        new Thread(Serve) { IsBackground = true, Name = "proxy" }.Start();
    }

    /// <summary>For --to.</summary>
    public string Port => $"tcp:127.0.0.1:{((IPEndPoint)_listener.LocalEndpoint).Port}";

    /// <summary>True when a connection has been cut since <see cref="CutNext"/>.</summary>
    public bool HasCut { get; private set; }

    /// <summary>Cuts the next connection after so many bytes in one direction, and refuses some that follow.</summary>
    public void CutNext(int bytes, bool towardController, int refuse)
    {
        HasCut = false;
        _toController = towardController ? bytes : -1;
        _toHost = towardController ? -1 : bytes;
        _refuse = refuse;
    }

    public void Dispose() => _listener.Stop();

    private void Serve()
    {
        while (true)
        {
            try
            {
                TcpClient host = _listener.AcceptTcpClient();
                if (HasCut && _refuse > 0)
                {
                    _refuse--;
                    host.Dispose();
                    continue;
                }

                var controller = new TcpClient("127.0.0.1", _target) { NoDelay = true };
                host.NoDelay = true;
                int up = _toController;
                int down = _toHost;
                _toController = -1;
                _toHost = -1;
                new Thread(() => Pump(host, controller, up)) { IsBackground = true }.Start();
                new Thread(() => Pump(controller, host, down)) { IsBackground = true }.Start();
            }
            catch (Exception e) when (e is SocketException or InvalidOperationException)
            {
                return;
            }
        }
    }

    private void Pump(TcpClient from, TcpClient to, int limit)
    {
        byte[] buffer = new byte[997];
        try
        {
            NetworkStream source = from.GetStream();
            NetworkStream target = to.GetStream();
            for (int count = source.Read(buffer); count > 0; count = source.Read(buffer))
            {
                int passed = limit < 0 ? count : Math.Min(count, limit);
                target.Write(buffer, 0, passed);
                limit -= limit < 0 ? 0 : passed;
                if (limit == 0)
                {
                    HasCut = true;
                    break;
                }
            }
        }
        catch (Exception e) when (e is IOException or InvalidOperationException)
        {
            // One end has gone; the other one follows.
        }

        from.Dispose();
        to.Dispose();
    }
}
