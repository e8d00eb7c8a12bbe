using System.Globalization;
using System.Text.RegularExpressions;
using Hourhinge.DeviceTests.Runtime;
using Xunit.Abstractions;

namespace Hourhinge.DeviceTests;

/// <summary>The board's own program on the runtime with pretended pins.</summary>
public sealed class BoardTests(ITestOutputHelper output)
{
    [SkippableFact]
    public void Hundred_thousand_passes_while_tracking_allocate_only_for_the_inputs_read_once_a_second()
    {
        NanoRuntime.RequireOrSkip();
        PassFigures figures = PassFigures.Measure();
        foreach (string line in figures.Lines)
        {
            output.WriteLine(line);
        }

        Assert.Contains(figures.Lines, line => line == "lost 0 slot 0 known 1");
        Assert.Contains(figures.Lines, line => line == "start ok");
        string end = figures.Lines.Single(line => line.StartsWith("state TRACKING", StringComparison.Ordinal));
        string[] words = end.Split(' ');
        Assert.InRange(long.Parse(words[5], CultureInfo.InvariantCulture)
            - long.Parse(words[3], CultureInfo.InvariantCulture), 0, 2);

        // A pass is 10 ms: three inputs are read again every 100 passes, at four objects each; the rest is the
        // LED and the other threads.
        Assert.InRange(figures.Of("TRACKING", "allocs"), 0, 160);
        Assert.InRange(figures.Of("GLONG", "allocs"), 0, 988 * 16);
        Assert.Equal(figures.Of("GPROFILE", "used"), figures.Of("GLONG", "used"), 400.0);
    }

    [SkippableFact]
    public void The_board_program_boots_takes_an_upload_tracks_shoots_and_rewinds()
    {
        NanoRuntime.RequireOrSkip();
        using DeviceProgram device = BoardProgram.Compile("BoardScenario.Run(P2);");
        string[] lines = device.Run(60_000, "28000:0,28300:1");
        foreach (string line in lines)
        {
            output.WriteLine(line);
        }

        Assert.StartsWith("*IDN? -> Hourhinge,", Line(lines, "*IDN?"), StringComparison.Ordinal);
        Assert.Equal("lost 0", Line(lines, "lost"));
        Assert.Contains("\"No error\";IDLE;0", Line(lines, "SYST:ERR?"), StringComparison.Ordinal);
        Assert.EndsWith("TRACKING|", Line(lines, "INIT"), StringComparison.Ordinal);
        Assert.True(Pin(lines, "PTRACKED", "pos") > Pin(lines, "PBEGIN", "pos") + 100);
        Assert.Equal(4, Pin(lines, "PSHOT", "shutter")); // Two exposures: on and off.
        // The back-off of this rig takes longer than the test: only the way to the switch and back off it is seen.
        Assert.True(Pin(lines, "PREWOUND", "pulses") > Pin(lines, "PSHOT", "pulses") + Pin(lines, "PSHOT", "pos"));
    }

    private static string Line(string[] lines, string start) =>
        lines.First(line => line.StartsWith(start, StringComparison.Ordinal));

    private static long Pin(string[] lines, string mark, string what) => long.Parse(
        Regex.Match(Line(lines, "P " + mark), $@"\b{what}=(-?\d+)").Groups[1].Value, CultureInfo.InvariantCulture);
}
