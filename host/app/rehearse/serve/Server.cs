// Serves the virtual controller: TCP on the loopback, and a pseudo-terminal on request.

using System.Diagnostics;
using Hourhinge.App.Common;
using Hourhinge.Rehearsal.Rig;
using Hourhinge.Rig;
using Hourhinge.SharedMath.Profile;

namespace Hourhinge.App.Rehearse.Serve;

internal static class Server
{
    /// <summary>Runs until cancelled. Without a rig file the virtual rig is the straight-rod example.</summary>
    public static int Run(FileInfo? file, VirtualRigOptions options, int port, bool pty, double speed,
        CancellationToken cancel)
    {
        LoadedRig loaded = file != null ? LoadedRig.From(file) : Example();
        using var peers = new PeerHub(port);
        using PseudoTerminal? terminal = pty ? PseudoTerminal.Open() : null;
        ConsoleOutput.WriteLine(
            $"Serving {loaded.Rig.Name} on "
            + $"tcp:127.0.0.1:{peers.Port}{(terminal == null ? "" : $" and {terminal.Path}")} at {speed:0.##} times "
            + "real time; stop with Ctrl-C.");
        Console.Out.Flush();
        peers.Start(terminal?.Stream);
        var board = new VirtualRig(loaded.Rig, loaded.Drive, options with { Link = peers.Link });
        var watch = Stopwatch.StartNew();
        while (!cancel.IsCancellationRequested)
        {
            double due = watch.Elapsed.TotalMicroseconds * speed;
            while (board.Clock.TrueUs < due)
            {
                board.Update(1000);
            }

            Thread.Sleep(1);
        }

        ConsoleOutput.WriteRemark("Stopped.");
        return ExitCode.Done;
    }

    private static LoadedRig Example()
    {
        using Stream stream = typeof(Server).Assembly.GetManifestResourceStream("examples/straight-quarter-twenty")!;
        using var reader = new StreamReader(stream);
        string text = reader.ReadToEnd();
        RigDescription rig = RigReader.Read("straight-quarter-twenty.toml", text);
        byte[] bytes = System.Text.Encoding.UTF8.GetBytes(text);
        return new LoadedRig("straight-quarter-twenty.toml", bytes, rig,
            RigDrive.Compile(rig, Crc32.Of(bytes, 0, bytes.Length)));
    }
}
