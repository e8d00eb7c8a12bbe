// Peers that hang up and peers that never read. HOURHINGE_HANGUPS sets the number of hang-ups; 300 by default, 20 000
// for the full campaign:
//   HOURHINGE_HANGUPS=20000 dotnet test tests/unit --filter HangUpCampaign --logger "console;verbosity=detailed"

using System.Diagnostics;
using System.Net.Sockets;
using System.Text;
using Hourhinge.App.Link;
using Xunit.Abstractions;

namespace Hourhinge.Tests.Host.App.Link;

/// <summary>The served controller answers the next peer, whatever the last ones did.</summary>
public sealed class HangUpCampaign(ITestOutputHelper output)
{
    private static readonly string[] _requests =
    [
        "SYST:HELP:HEAD?\n", "*IDN?\n*IDN?\n", "MOT:STAT?;POS?;DUE?\n", "*OPC?\n",
        "SYST:HELP:HEAD?\nSYST:HELP:HEAD?\nSYST:HELP",
        "PROF:DATA #44000half", "RIG:THR \"", "", "*IDN?",
    ];

    private static int Count =>
        int.TryParse(Environment.GetEnvironmentVariable("HOURHINGE_HANGUPS"), out int n) ? n : 300;

    [Fact]
    public void The_next_peer_is_answered_after_hang_ups_with_answers_pending()
    {
        using var served = new ServedBoard(20);
        var random = new Random(1);
        var watch = Stopwatch.StartNew();
        for (int i = 0; i < Count; i++)
        {
            using var client = new TcpClient("127.0.0.1", served.Port);
            client.GetStream().Write(Encoding.ASCII.GetBytes(_requests[random.Next(_requests.Length)]));
            if (random.Next(10) == 0)
            {
                Thread.Sleep(random.Next(3)); // Some answers are on their way.
            }

            // Half of them with a reset instead of an orderly end.
            client.LingerState = new LingerOption(random.Next(2) == 0, 0);
        }

        using ControllerLink link = ControllerLink.Open($"tcp:127.0.0.1:{served.Port}");
        Assert.Equal("IDLE", link.Query("MOTion:STATe?"));
        output.WriteLine($"{Count} hang-ups in {watch.Elapsed.TotalSeconds:0.0} s; the next peer was answered");
    }

    [Fact]
    public void Twelve_peers_that_never_read_do_not_silence_the_thirteenth()
    {
        using var served = new ServedBoard(20);
        var clients = new List<TcpClient>();
        for (int i = 0; i < 12; i++)
        {
            var client = new TcpClient("127.0.0.1", served.Port) { ReceiveBufferSize = 1024 };
            clients.Add(client);
            client.GetStream().WriteTimeout = 200;
            try
            {
                for (int n = 0; n < 100; n++)
                {
                    client.GetStream().Write(Encoding.ASCII.GetBytes("SYST:HELP:HEAD?\n"));
                }
            }
            catch (IOException)
            {
                // The controller reads no faster; what was sent is enough.
            }
        }

        using ControllerLink link = ControllerLink.Open($"tcp:127.0.0.1:{served.Port}");
        Assert.Equal("IDLE", link.Query("MOTion:STATe?"));
        clients.ForEach(c => c.Dispose());
    }
}
