using System.Net.Sockets;
using System.Text;
using System.Text.Json;
using System.Text.RegularExpressions;
using Hourhinge.Tests.Host.App.Link;

namespace Hourhinge.Tests.Host.App.Upload;

/// <summary>Upload and device commands against the served controller, over TCP and over a serial port.</summary>
public class UploadTests
{
    [Fact]
    public void Upload_start_status_and_stop_work_over_tcp()
    {
        using ServedController served = Tool.Serve();
        WholeConversation(served.Port);
    }

    [SkippableFact]
    public void The_same_works_over_a_serial_port()
    {
        Skip.IfNot(OperatingSystem.IsLinux(), "pseudo-terminals are served on Linux only");
        using ServedController served = Tool.Serve("--pty");
        WholeConversation(Regex.Match(served.Greeting, @"/dev/pts/\d+").Value);
    }

    private static void WholeConversation(string port)
    {
        string rig = Tool.Example("straight-quarter-twenty");
        (int code, string output, string error) = Tool.Run("device", "start", "--to", port);
        Assert.Equal(3, code);
        Assert.Contains("no profile: upload one first", error, StringComparison.Ordinal);

        (code, output, error) = Tool.Run("upload", rig, "--to", port, "--json");
        Assert.True(code == 0, error);
        using JsonDocument upload = JsonDocument.Parse(output);
        Assert.True(upload.RootElement.GetProperty("verified").GetBoolean());
        Assert.Equal(1, upload.RootElement.GetProperty("sequence").GetInt32());
        double worst = upload.RootElement.GetProperty("closed_form_worst_counts").GetDouble();
        Assert.InRange(worst, 1e-6, upload.RootElement.GetProperty("closed_form_bound_counts").GetDouble());
        Assert.InRange(upload.RootElement.GetProperty("closed_form_bound_counts").GetDouble(), worst, 0.01);

        Assert.Equal(0, Tool.Run("device", "start", "--to", port).Code);
        (code, output, _) = Tool.Run("device", "status", "--to", port, "--json");
        using JsonDocument status = JsonDocument.Parse(output);
        Assert.Equal("TRACKING", status.RootElement.GetProperty("state").GetString());
        Assert.True(status.RootElement.GetProperty("position_steps").GetDouble() > 0);

        (code, _, error) = Tool.Run("upload", rig, "--to", port);
        Assert.Equal(3, code);
        Assert.Contains("tracking; stop it first", error, StringComparison.Ordinal);

        Assert.Equal(0, Tool.Run("device", "stop", "--to", port).Code);
        Assert.Equal(File.ReadAllText(rig), Tool.Run("device", "read-rig", "--to", port).Out);
        Assert.Equal("No errors.\n", Tool.Run("device", "errors", "--to", port).Out);
    }

    [Fact]
    public void A_peer_that_hangs_up_in_mid_upload_changes_nothing()
    {
        using ServedController served = Tool.Serve();
        Assert.Equal(0, Tool.Run("upload", Tool.Example("straight-quarter-twenty"), "--to", served.Port).Code);
        using (var client = new TcpClient("127.0.0.1", served.TcpPort))
        {
            client.GetStream().Write(Encoding.ASCII.GetBytes("PROF:DATA #3600HhDP and then the cable was pulled"));
        }

        (int code, string output, string error) = Tool.Run("device", "status", "--to", served.Port, "--json");
        Assert.True(code == 0, error);
        using JsonDocument status = JsonDocument.Parse(output);
        Assert.Equal("Heron", status.RootElement.GetProperty("rig").GetString());
    }

    // On a serial line nothing tells the controller that a peer has gone.
    [SkippableFact]
    public void What_a_lost_peer_leaves_on_a_serial_line_is_neither_executed_nor_in_the_way_of_a_stop()
    {
        Skip.IfNot(OperatingSystem.IsLinux(), "pseudo-terminals are served on Linux only");
        using ServedController served = Tool.Serve("--pty");
        string port = Regex.Match(served.Greeting, @"/dev/pts/\d+").Value;
        Assert.Equal(0, Tool.Run("upload", Tool.Example("straight-quarter-twenty"), "--to", port).Code);
        Leave(port, "INIT");
        Assert.Equal("IDLE", State(port));
        Leave(port, "PROF:DATA #3600HhDP and then the cable was pulled");
        (int code, _, string error) = Tool.Run("device", "start", "--to", port);
        Assert.True(code == 0, error);
        Assert.Equal("TRACKING", State(port));
        foreach (string left in new[] { "PROF:DATA #41000abc", "REW", "RIG:THR \"M6\nREW\n" })
        {
            Leave(port, left);
            (code, _, error) = Tool.Run("device", "stop", "--to", port);
            Assert.True(code == 0, error);
            Assert.Equal("IDLE", State(port));
            Assert.Equal(0, Tool.Run("device", "start", "--to", port).Code);
        }
    }

    private static void Leave(string port, string text)
    {
        using var terminal = new FileStream(port, FileMode.Open, FileAccess.Write);
        terminal.Write(Encoding.ASCII.GetBytes(text));
    }

    private static string State(string port)
    {
        (int code, string output, string error) = Tool.Run("device", "status", "--to", port, "--json");
        Assert.True(code == 0, error);
        using JsonDocument status = JsonDocument.Parse(output);
        return status.RootElement.GetProperty("state").GetString()!;
    }

    [Fact]
    public void A_controller_that_hangs_up_in_mid_upload_and_stays_away_is_reported_with_exit_code_3()
    {
        FakePeer? peer = null;
        peer = FakePeer.Answering(query =>
        {
            if (query == "PROFile:NAME?")
            {
                peer!.Dispose(); // The next connection is refused.
                throw new IOException();
            }

            return FakePeer.Healthy(query) is "#15abcde" ? "#14abcd" : FakePeer.Healthy(query);
        });
        (int code, _, string error) = Tool.Run("upload", Tool.Example("straight-quarter-twenty"), "--to", peer.Port);
        Assert.Equal(3, code);
        Assert.Contains("the controller hung up. Nothing was sent.", error, StringComparison.Ordinal);
        Assert.Single(error.Trim().Split('\n'));
    }

    [Theory]
    [InlineData("/dev/ttyNowhere", 3, "there is no such port")]
    [InlineData("tcp:127.0.0.1:1", 3, "cannot connect")]
    [InlineData("tcp:somewhere", 2, "must be tcp:ADDRESS:PORT")]
    public void A_port_that_is_not_there_is_named(string port, int exitCode, string expected)
    {
        (int code, _, string error) = Tool.Run("device", "status", "--to", port);
        Assert.Equal(exitCode, code);
        Assert.Contains(expected, error, StringComparison.Ordinal);
        Assert.Contains(port, error, StringComparison.Ordinal);
    }
}
