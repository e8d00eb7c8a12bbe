using System.Diagnostics;
using Hourhinge.App;

namespace Hourhinge.Tests.Host.App;

/// <summary>Ctrl-C and errors that nobody foresaw, in processes of their own.</summary>
public sealed class InterruptionTests : IDisposable
{
    private readonly string _folder = Directory.CreateTempSubdirectory("stop-").FullName;

    public void Dispose() => Directory.Delete(_folder, recursive: true);

    [SkippableTheory]
    [InlineData(1, "rehearse RIG --minutes 700 --pass 0.1")]
    [InlineData(2, "rehearse RIG --minutes 700 --pass 0.1")]
    [InlineData(1, "rehearse RIG --frames FRAMES --count 2000 --exposure 1 --gap 0 --pass 20")]
    [InlineData(1, "rehearse --serve --port 0")]
    [InlineData(1, "calibrate turns RIG --save READINGS")]
    public void Ctrl_c_stops_a_command_within_a_second(int times, string line)
    {
        Skip.If(OperatingSystem.IsWindows(), "signals are sent with kill");
        string frames = Path.Combine(_folder, "frames");
        string[] args = [.. line.Split(' ').Select(w => w == "RIG" ? Tool.Example("straight-quarter-twenty")
            : w == "FRAMES" ? frames : w == "READINGS" ? Path.Combine(_folder, "r.csv") : w)];
        using Process process = Start(args);
        Task<string> error = process.StandardError.ReadToEndAsync();
        Thread.Sleep(4000); // Longer than the start of the program on a busy machine.
        var clock = Stopwatch.StartNew();
        for (int i = 0; i < times; i++)
        {
            // env -i of the test host may have SIGINT ignored; SIGTERM takes the same path.
            using Process kill = Process.Start("kill", ["-TERM", $"{process.Id}"]);
            kill.WaitForExit();
        }

        Assert.True(process.WaitForExit(10000), "it runs on");
        double seconds = clock.Elapsed.TotalSeconds;
        Assert.Equal(130, process.ExitCode);
        Assert.Contains("hourhinge: stopped", error.Result, StringComparison.Ordinal);
        Assert.DoesNotContain("   at ", error.Result, StringComparison.Ordinal);
        Assert.InRange(seconds, 0, 2); // 1 s, and as much again for a busy test machine.
        Assert.Empty(Directory.EnumerateFileSystemEntries(_folder));
    }

    [Fact]
    public void An_unforeseen_error_is_one_sentence_and_a_file()
    {
        int code = 0;
        string sentence = ConsoleRouter.Capture(() => code = LastResort.Report(
            new InvalidOperationException("first line\nsecond line"), ["profile", "x.toml"])).Error;
        Assert.Equal(70, code);
        Assert.Equal(1, sentence.Count(c => c == '\n'));
        int at = sentence.IndexOf("the details are in ", StringComparison.Ordinal) + "the details are in ".Length;
        string file = sentence[at..].Trim().TrimEnd('.');
        string details = File.ReadAllText(file);
        File.Delete(file);
        Assert.Contains("second line", details, StringComparison.Ordinal);
        Assert.Contains("x.toml", details, StringComparison.Ordinal);
    }

    private static Process Start(string[] args)
    {
        var start = new ProcessStartInfo("dotnet")
        {
            RedirectStandardInput = true,
            RedirectStandardOutput = true,
            RedirectStandardError = true,
        };
        start.ArgumentList.Add(Path.Combine(AppContext.BaseDirectory, "hourhinge.dll"));
        Array.ForEach(args, start.ArgumentList.Add);
        return Process.Start(start)!;
    }
}
