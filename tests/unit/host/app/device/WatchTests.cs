using System.Diagnostics;
using System.Text.Json;
using Hourhinge.App.Device;
using Xunit.Abstractions;

namespace Hourhinge.Tests.Host.App.Device;

/// <summary>`device watch` through a serial cable that is pulled and put back; socat is the cable.</summary>
public class WatchTests(ITestOutputHelper output)
{
    [SkippableFact]
    public async Task A_pulled_cable_is_waited_for_and_the_watch_goes_on()
    {
        Skip.IfNot(OperatingSystem.IsLinux() && File.Exists("/usr/bin/socat"), "socat was not found");
        double pulledSec = double.Parse(Environment.GetEnvironmentVariable("HOURHINGE_PULLED_S") ?? "1.5",
            System.Globalization.CultureInfo.InvariantCulture);
        using ServedController served = Tool.Serve();
        Assert.Equal(0, Tool.Run("upload", Tool.Example("straight-quarter-twenty"), "--to", served.Port).Code);
        Assert.Equal(0, Tool.Run("device", "start", "--to", served.Port).Code);
        string port = Path.Combine(Path.GetTempPath(), $"hourhinge-cable-{Guid.NewGuid():N}");
        Process cable = Plug(port, served.TcpPort);
        int count = (int)((pulledSec + 4) / 0.25);
        Task<(int Code, string Out, string Error)> watch = Task.Run(() => Tool.Run("device", "watch", "--to",
            port, "--json", "--interval", "0.25", "--count", $"{count}"));
        await Task.Delay(1200);
        cable.Kill();
        await cable.WaitForExitAsync();
        await Task.Delay(TimeSpan.FromSeconds(pulledSec));
        Process again = Plug(port, served.TcpPort);
        (int code, string text, string error) = await watch;
        again.Kill();
        Assert.True(code == 0, error);
        JsonElement[] readings = [.. text.Split('\n', StringSplitOptions.RemoveEmptyEntries)
            .Select(l => JsonDocument.Parse(l).RootElement.Clone())];
        bool[] connected = [.. readings.Select(r => r.GetProperty("connected").GetBoolean())];
        output.WriteLine(string.Concat(connected.Select(c => c ? 'o' : '.')));
        Assert.Equal(count, readings.Length);
        int lost = Array.IndexOf(connected, false);
        int found = Array.IndexOf(connected, true, Math.Max(lost, 0));
        Assert.True(lost > 0 && found > lost && connected[^1], string.Join(' ', connected));
        // The controller went on while nobody listened.
        Assert.Equal("TRACKING", readings[found].GetProperty("state").GetString());
        Assert.True(readings[found].GetProperty("position_steps").GetDouble()
            > readings[lost - 1].GetProperty("position_steps").GetDouble());
        Assert.InRange(readings[found - 1].GetProperty("lost_for_s").GetDouble(), pulledSec * 0.5, pulledSec + 5);
        Assert.All(readings[lost..found], r => Assert.NotEmpty(r.GetProperty("problem").GetString()!));
    }

    [Fact]
    public void A_port_that_was_never_there_is_an_error()
    {
        (int code, string text, string error) = Tool.Run("device", "watch", "--to", "/dev/no-such-port");
        Assert.Equal(3, code);
        Assert.Empty(text);
        Assert.Contains("there is no such port", error, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("1;2;3", "1|2|3")]
    [InlineData("0,\"a;b\";2", "0,\"a;b\"|2")]
    [InlineData("\"a\"\";\"\"b\";;", "\"a\"\";\"\"b\"||")]
    public void Answers_are_split_outside_quotes(string answer, string parts) =>
        Assert.Equal(parts.Split('|'), ScpiAnswer.Split(answer, ';'));

    // The controller takes one peer at a time: while the last one is still leaving, the cable ends at once.
    private static Process Plug(string link, int tcpPort)
    {
        for (int attempt = 0; ; attempt++)
        {
            Process cable =
                Process.Start("/usr/bin/socat", [$"pty,raw,echo=0,link={link}", $"TCP:127.0.0.1:{tcpPort}"]);
            if (!cable.WaitForExit(200) && File.Exists(link))
            {
                return cable;
            }

            Assert.True(attempt < 20, "socat does not stay connected");
            cable.Kill();
            cable.WaitForExit();
        }
    }
}
