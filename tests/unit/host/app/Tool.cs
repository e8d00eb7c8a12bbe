using System.Diagnostics;
using System.Runtime.CompilerServices;
using System.Text.RegularExpressions;

namespace Hourhinge.Tests.Host.App;

/// <summary>Runs the `hourhinge` program as a user would, and finds the repository's files.</summary>
internal static partial class Tool
{
    /// <summary>The repository's root.</summary>
    public static string Root { get; } = FindRoot();

    /// <summary>A worked rig of the repository.</summary>
    public static string Example(string name) => Path.Combine(Root, "host", "examples", name + ".toml");

    /// <summary>Names of the worked rigs.</summary>
    public static string[] Examples { get; } = ["straight-quarter-twenty", "bent-m6-geared", "fixed-rod-offset"];

    /// <summary>Runs to the end in the test's own process, many times faster than as a process; exit code, standard
    /// output, standard error. Relative paths begin at the repository's root.</summary>
    public static (int Code, string Out, string Error) Run(params string[] args) => ConsoleRouter.Run(args);

    /// <summary>The same as a process of its own, in a folder.</summary>
    public static (int Code, string Out, string Error) RunAsProcess(string workingFolder, params string[] args)
    {
        using Process process = Start(args, workingFolder);
        Task<string> error = process.StandardError.ReadToEndAsync();
        string output = process.StandardOutput.ReadToEnd();
        process.WaitForExit();
        return (process.ExitCode, output, error.Result);
    }

    /// <summary>Serves a virtual controller on a free port, sped up; give the port's name to --to.</summary>
    public static ServedController Serve(params string[] more)
    {
        Process process = Start(["rehearse", "--serve", "--port", "0", "--speed", "20", .. more]);
        string line = process.StandardOutput.ReadLine() ?? process.StandardError.ReadToEnd();
        Match match = Address().Match(line);
        Assert.True(match.Success, line);
        return new ServedController(process, match.Value, line);
    }

    private static Process Start(IEnumerable<string> args, string? workingFolder = null)
    {
        var start = new ProcessStartInfo("dotnet")
        {
            RedirectStandardOutput = true,
            RedirectStandardError = true,
            WorkingDirectory = workingFolder ?? Root,
        };
        start.ArgumentList.Add(Path.Combine(AppContext.BaseDirectory, "hourhinge.dll"));
        foreach (string arg in args)
        {
            start.ArgumentList.Add(arg);
        }

        return Process.Start(start)!;
    }

    [ModuleInitializer]
    internal static void BeginAtTheRoot() => Environment.CurrentDirectory = Root;

    private static string FindRoot()
    {
        string? at = AppContext.BaseDirectory;
        while (at != null && !File.Exists(Path.Combine(at, "Hourhinge.slnx")))
        {
            at = Path.GetDirectoryName(at);
        }

        return at ?? throw new InvalidOperationException("Hourhinge.slnx not found above the tests");
    }

    [GeneratedRegex(@"tcp:127\.0\.0\.1:\d+")]
    private static partial Regex Address();
}

/// <summary>A served virtual controller; disposing stops it.</summary>
internal sealed class ServedController(Process process, string port, string greeting) : IDisposable
{
    /// <summary>For --to.</summary>
    public string Port { get; } = port;

    /// <summary>The TCP port's number.</summary>
    public int TcpPort =>
        int.Parse(Port[(Port.LastIndexOf(':') + 1)..], System.Globalization.CultureInfo.InvariantCulture);

    /// <summary>The line that it printed at the start.</summary>
    public string Greeting { get; } = greeting;

    public void Dispose()
    {
        process.Kill();
        process.WaitForExit();
        process.Dispose();
    }
}
