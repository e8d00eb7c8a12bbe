// Serves the virtual controller: TCP on the loopback, and a pseudo-terminal on request.

using System.Diagnostics;
using System.Net;
using System.Net.Sockets;
using Hourhinge.App.Common;
using Hourhinge.App.Link;
using Hourhinge.Rehearsal.Board;
using Hourhinge.Rehearsal.Rig;
using Hourhinge.Rig;
using Hourhinge.SharedMath.Profile;

namespace Hourhinge.App.Rehearse.Serve;

internal static class Server
{
    // Largest number of bytes that wait for a client; with more, the firmware sees a slow peer.
    private const int ClientRoom = 16384;

    private static volatile Stream? _lastPeer;

    /// <summary>Runs until cancelled. Without a rig file the virtual rig is the straight-rod example.</summary>
    public static int Run(FileInfo? file, VirtualRigOptions options, int port, bool pty, double speed,
        CancellationToken cancel)
    {
        LoadedRig loaded = file != null ? LoadedRig.From(file) : Example();
        var link = new ByteQueueLink { PeerBufferBytes = ClientRoom };
        using var listener = new TcpListener(IPAddress.Loopback, port);
        try
        {
            listener.Start();
        }
        catch (SocketException e)
        {
            throw new DeviceException(
                $"--port {port}: cannot listen on 127.0.0.1 ({e.Message}); is another rehearsal being served?");
        }

        using PseudoTerminal? terminal = pty ? PseudoTerminal.Open() : null;
        int actual = ((IPEndPoint)listener.LocalEndpoint).Port;
        ConsoleOutput.WriteLine(
            $"Serving {loaded.Rig.Name} on "
            + $"tcp:127.0.0.1:{actual}{(terminal == null ? "" : $" and {terminal.Path}")} at {speed:0.##} times "
            + "real time; stop with Ctrl-C.");
        Console.Out.Flush();
        Start("answers", () => Answer(link, cancel));
        Start("tcp", () => Accept(listener, link, cancel));
        if (terminal != null)
        {
            Start("pty", () => Listen(terminal.Stream, link, cancel));
        }

        var board = new VirtualRig(loaded.Rig, loaded.Drive, options with { Link = link });
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

    private static void Start(string name, Action work) =>
        new Thread(() => work()) { IsBackground = true, Name = name }.Start();

    private static void Accept(TcpListener listener, ByteQueueLink link, CancellationToken cancel)
    {
        while (!cancel.IsCancellationRequested)
        {
            try
            {
                using TcpClient client = listener.AcceptTcpClient();
                client.NoDelay = true;
                // Ends an unfinished line of the last peer.
                link.Send("\n"u8);
                Listen(client.GetStream(), link, cancel);
            }
            catch (SocketException)
            {
                return; // The listener was closed.
            }
        }
    }

    // Reads one peer until it disconnects. Answers go to the peer that sent last.
    private static void Listen(Stream stream, ByteQueueLink link, CancellationToken cancel)
    {
        byte[] buffer = new byte[4096];
        try
        {
            for (int count = stream.Read(buffer); count > 0; count = stream.Read(buffer))
            {
                _lastPeer = stream;
                while (link.UnreadBytes > ClientRoom && !cancel.IsCancellationRequested)
                {
                    Thread.Sleep(1);
                }

                link.Send(buffer.AsSpan(0, count));
            }
        }
        catch (Exception e) when (e is IOException or ObjectDisposedException)
        {
            // The peer disconnected; the firmware notices by its time-out.
        }
    }

    // Answers are polled: the firmware never waits for a peer.
    private static void Answer(ByteQueueLink link, CancellationToken cancel)
    {
        while (!cancel.IsCancellationRequested)
        {
            byte[] answer = link.Receive();
            if (answer.Length == 0)
            {
                Thread.Sleep(1);
                continue;
            }

            try
            {
                _lastPeer?.Write(answer);
            }
            catch (Exception e) when (e is IOException or ObjectDisposedException)
            {
                // The peer is gone; the answer is lost, as on an unplugged cable.
            }
        }
    }
}
