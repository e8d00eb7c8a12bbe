using System.Diagnostics;
using System.IO.Ports;
using System.Text;
using Hourhinge.App.Link;

namespace Hourhinge.Tests.Host.App.Link;

/// <summary>The four sentences about a serial port, over pseudo-terminals of the system; socat is the cable.</summary>
public sealed class PtyPeerTests
{
    private const string Socat = "/usr/bin/socat", SetPriv = "/usr/bin/setpriv";

    private static readonly LinkTiming _timing =
        new() { RequestMs = 500, FirstRequestMs = 150, StopRequestMs = 100, BlockGapMs = 70 };

    [SkippableTheory]
    [InlineData(9600)]
    [InlineData(57600)]
    [InlineData(230400)]
    public void A_peer_at_another_speed_is_told(int baud)
    {
        string heard = Heard("Hourhinge,Hinge controller,0,1.1\r\nready\r\n", baud);
        using var peer = new FakePeer(stream =>
        {
            byte[] one = new byte[1];
            while (stream.Read(one) > 0)
            {
                FakePeer.Send(stream, heard);
            }
        });
        using var cable = new Cable(peer.Port, "666");
        AssertFails(cable.Link, "runs at another speed than 115200 baud");
    }

    [SkippableFact]
    public void Another_instrument_is_told()
    {
        using var peer = new FakePeer(stream =>
        {
            using var reader = new StreamReader(stream, Encoding.Latin1, false, 1, leaveOpen: true);
            while (reader.ReadLine() is { } line)
            {
                FakePeer.Send(stream, line.Contains("*IDN?", StringComparison.Ordinal) ? "Oven 3000\r\n" : "what?\r\n");
            }
        });
        using var cable = new Cable(peer.Port, "666");
        AssertFails(cable.Link, "this is another instrument, not a Hourhinge controller");
    }

    // The system lets root open every port, so the program runs as nobody.
    [SkippableTheory]
    [InlineData("600", false, "permission is denied")]
    [InlineData("666", true, "the port is in use")]
    public void A_forbidden_port_and_a_busy_one_are_told_by_the_system(string mode, bool isBusy, string expected)
    {
        using var peer = FakePeer.Answering(FakePeer.Healthy);
        using var cable = new Cable(peer.Port, mode);
        using var other = new SerialPort(cable.Link);
        if (isBusy)
        {
            other.Open();
        }

        (int code, string error) = RunAsNobody("device", "status", "--to", cable.Link);
        Assert.Contains(expected, error, StringComparison.Ordinal);
        Assert.Equal(3, code);
    }

    // What a receiver at 115200 baud makes of text that is sent at another speed: 8 data bits, no parity, one stop bit.
    private static string Heard(string text, int baud)
    {
        bool[] line = [.. text.SelectMany(c => Enumerable.Range(-1, 10)
            .Select(bit => bit >= 0 && (bit == 8 || ((c >> bit) & 1) == 1))), true, true];
        double sentPerHeard = baud / 115200.0;
        bool At(double heardBits) => heardBits * sentPerHeard >= line.Length || line[(int)(heardBits * sentPerHeard)];
        var heard = new StringBuilder();
        double last = line.Length / sentPerHeard;
        for (double t = 0; t < last; t += 1.0 / 16)
        {
            if (!At(t))
            {
                int value = Enumerable.Range(0, 8).Sum(bit => At(t + 1.5 + bit) ? 1 << bit : 0);
                bool isFramed = At(t + 9.5);
                heard.Append((char)(isFramed ? value : 0)); // The system passes a framing error on as a zero.
                t += 9.5;
                while (t < last && !At(t))
                {
                    t += 1.0 / 16;
                }
            }
        }

        return heard.ToString();
    }

    private static void AssertFails(string port, string expected)
    {
        DeviceException e = Assert.Throws<DeviceException>(() => ControllerLink.Open(port, _timing).Dispose());
        Assert.Contains(expected, e.Message, StringComparison.Ordinal);
    }

    private static (int Code, string Error) RunAsNobody(params string[] args)
    {
        string[] command = ["dotnet", Path.Combine(AppContext.BaseDirectory, "hourhinge.dll"), .. args];
        bool isRoot = Environment.UserName == "root";
        Skip.If(isRoot && !File.Exists(SetPriv), "setpriv was not found");
        string[] all = isRoot ? [SetPriv, "--reuid=65534", "--regid=65534", "--clear-groups", .. command] : command;
        var start = new ProcessStartInfo(all[0], all[1..])
        {
            RedirectStandardError = true,
            RedirectStandardOutput = true,
            WorkingDirectory = Path.GetTempPath(),
        };
        start.Environment["HOME"] = Path.GetTempPath();
        using Process process = Process.Start(start)!;
        Task<string> output = process.StandardOutput.ReadToEndAsync();
        string error = process.StandardError.ReadToEnd();
        process.WaitForExit();
        Skip.If(isRoot && process.ExitCode is not (0 or 2 or 3 or 70),
            $"nobody cannot run the program: {error}{output.Result}");
        return (process.ExitCode, error);
    }

    private sealed class Cable : IDisposable
    {
        private readonly Process _process;

        public Cable(string tcpPort, string mode)
        {
            Skip.IfNot(OperatingSystem.IsLinux() && File.Exists(Socat), "socat was not found");
            Link = Path.Combine(Path.GetTempPath(), $"hourhinge-pty-{Guid.NewGuid():N}");
            _process = Process.Start(Socat, [$"pty,raw,echo=0,mode={mode},link={Link}", tcpPort.ToUpperInvariant()]);
            for (int i = 0; i < 250 && !File.Exists(Link); i++)
            {
                Thread.Sleep(20);
            }
        }

        public string Link { get; }

        public void Dispose()
        {
            _process.Kill();
            _process.WaitForExit();
            _process.Dispose();
        }
    }
}
