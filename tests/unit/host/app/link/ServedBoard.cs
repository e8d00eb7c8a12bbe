using System.Diagnostics;
using Hourhinge.App.Rehearse.Serve;
using Hourhinge.Rehearsal.Rig;
using Hourhinge.Rig;

namespace Hourhinge.Tests.Host.App.Link;

/// <summary>A served controller inside the test's process, so that what it really holds can be looked at.</summary>
internal sealed class ServedBoard : IDisposable
{
    private readonly PeerHub _peers = new(0);
    private readonly Thread _loop;
    private volatile bool _stopped;

    /// <summary>Serves an example rig at a multiple of real time.</summary>
    public ServedBoard(double speed)
    {
        RigDescription rig = RigReader.ReadFile(Tool.Example("straight-quarter-twenty"), out _);
        Board = new VirtualRig(rig, RigDrive.Compile(rig, 0), new VirtualRigOptions { Link = _peers.Link });
        _peers.Start(null);
        _loop = new Thread(() => Run(speed)) { IsBackground = true, Name = "board" };
        _loop.Start();
    }

    /// <summary>The controller and its rig; use it through <see cref="Inspect"/>.</summary>
    private VirtualRig Board { get; }

    /// <summary>The TCP port.</summary>
    public int Port => _peers.Port;

    /// <summary>Looks at the board between two passes.</summary>
    public T Inspect<T>(Func<VirtualRig, T> look)
    {
        lock (_loop)
        {
            return look(Board);
        }
    }

    public void Dispose()
    {
        _stopped = true;
        _loop.Join();
        _peers.Dispose();
    }

    private void Run(double speed)
    {
        var watch = Stopwatch.StartNew();
        while (!_stopped)
        {
            lock (_loop)
            {
                double due = watch.Elapsed.TotalMicroseconds * speed;
                while (Board.Clock.TrueUs < due)
                {
                    Board.Update(2000);
                }
            }

            Thread.Sleep(1);
        }
    }
}
