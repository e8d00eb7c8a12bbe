using System.Globalization;
using System.Text.RegularExpressions;
using Hourhinge.DeviceTests.Runtime;
using Xunit.Abstractions;

namespace Hourhinge.DeviceTests;

/// <summary>The board's own program on the runtime with pretended pins.</summary>
public sealed class BoardTests(ITestOutputHelper output)
{
    [SkippableFact]
    public void Passes_while_tracking_allocate_nothing()
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

        // What is left is the marks' own text.
        Assert.InRange(figures.Of("TRACKING", "allocs"), 0, 20);

        // With a step counter: its readings, at most twenty a second of four objects, and nothing else.
        Assert.InRange(figures.Of("TRAIN", "allocs"), 100, 800);
        Assert.Matches("^train [1-9][0-9]+ Hz, duty 75$", figures.Lines.Single(l => l.Contains(" Hz, ")));
        Assert.Contains("aborted with duty 0", figures.Lines);
        string[] train = figures.Lines.Single(l => l.StartsWith("train TRACKING", StringComparison.Ordinal)).Split(' ');
        Assert.InRange(long.Parse(train[5], CultureInfo.InvariantCulture)
            - long.Parse(train[3], CultureInfo.InvariantCulture), -2, 3);
        Assert.InRange(figures.Of("GLONG", "allocs"), 0, 40);
        Assert.Equal(figures.Of("GREADY", "used"), figures.Of("GLONG", "used"), 400.0);
    }

    [SkippableFact]
    public void The_board_program_boots_takes_an_upload_tracks_shoots_and_rewinds()
    {
        NanoRuntime.RequireOrSkip();
        using DeviceProgram device = BoardProgram.Compile("BoardScenario.Run(P2);");

        // The button is pressed by the real clock: the first press that comes during the rewind stops it. These
        // pretended pins raise no interrupts.
        string[] lines = device.Run(100_000,
            string.Join(',', Enumerable.Range(4, 29).Select(i => $"{3000 * i}:0,{(3000 * i) + 300}:1")));
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
        Assert.True(Pin(lines, "PREWOUND", "pulses") > Pin(lines, "PSHOT", "pulses") + 20);
        Assert.StartsWith("MOT:STAT?;POS?;:SYST:ERR? -> REWINDING;", Line(lines, "MOT:STAT?;POS?;:SYST:ERR?"),
            StringComparison.Ordinal);
        Assert.Matches(@"MOT:STAT\?;POS\? -> IDLE;-?[1-9]", lines[^1]); // The button has stopped it.
    }

    [SkippableFact]
    public void Rewinds_of_all_examples_end_at_zero_at_every_speed_of_the_loop()
    {
        NanoRuntime.RequireOrSkip();
        using DeviceProgram device = BoardProgram.Compile(
            $"RewindScenario.Run(Profiles, {(NanoRuntime.IsFullSize ? "true" : "false")});");
        string[] lines = device.Run(120_000);
        foreach (string line in lines)
        {
            output.WriteLine(line);
        }

        string[] rewinds = [.. lines.Where(l => l.StartsWith("rewind", StringComparison.Ordinal))];
        Assert.Equal(12, rewinds.Length);
        Assert.All(rewinds, l => Assert.Matches("IDLE at 0 after [0-9]+ passes ok$", l));
        Assert.All(lines.Where(l => l.StartsWith("P ", StringComparison.Ordinal)),
            l => Assert.InRange(long.Parse(Regex.Match(l, @"pos=(-?\d+)").Groups[1].Value), -1, 1));
    }

    [SkippableFact]
    public void An_upload_of_4096_bytes_at_the_line_rate_loses_none_at_passes_of_30_ms()
    {
        NanoRuntime.RequireOrSkip();
        using DeviceProgram device = BoardProgram.Compile("BoardScenario.UploadSlowly();");
        string[] lines = device.Run(100_000);
        output.WriteLine(string.Join('\n', lines));
        Assert.Equal("lost 0", Line(lines, "lost"));
        Assert.Contains("-> Hourhinge,", Line(lines, "*IDN?"), StringComparison.Ordinal);
        Assert.Contains("0,\"No error\"", Line(lines, "SYST:ERR?"), StringComparison.Ordinal);
    }

    private static string Line(string[] lines, string start) =>
        lines.First(line => line.StartsWith(start, StringComparison.Ordinal));

    private static long Pin(string[] lines, string mark, string what) => long.Parse(
        Regex.Match(Line(lines, "P " + mark), $@"\b{what}=(-?\d+)").Groups[1].Value, CultureInfo.InvariantCulture);
}
