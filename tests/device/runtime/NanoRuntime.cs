// Finds the controller's runtime, converts assemblies for it and runs them.

using System.Diagnostics;
using System.Runtime.CompilerServices;
using System.Text;
using Mono.Cecil;

namespace Hourhinge.DeviceTests.Runtime;

/// <summary>The runtime of this machine; README.md tells how it is built.</summary>
internal static class NanoRuntime
{
    /// <summary>Printed last by every program; an unhandled exception ends the runtime in silence.</summary>
    public const string EndMark = "END OF PROGRAM";

    /// <summary>Printed first by every program; the runtime prints its version before.</summary>
    public const string StartMark = "START OF PROGRAM";

    /// <summary>The repository's top folder.</summary>
    public static string Root { get; } = FindRoot();

    /// <summary>The folder of the runtime.</summary>
    public static string Folder { get; } =
        Environment.GetEnvironmentVariable("HOURHINGE_NANO_RUNTIME")
        ?? Path.GetFullPath(Path.Combine(Root, "..", "shared", "nano-runtime"));

    /// <summary>True when the programs run at their full size.</summary>
    public static bool IsFullSize { get; } = Environment.GetEnvironmentVariable("HOURHINGE_DEVICE") == "full";

    /// <summary>Skips a test, loudly, where the runtime is missing.</summary>
    public static void RequireOrSkip()
    {
        bool there = File.Exists(Path.Combine(Folder, "nanoFramework.nanoCLR.test"));
        if (!there)
        {
            Console.Error.WriteLine($"SKIPPED: no nanoFramework runtime in {Folder}. The device code was NOT run; "
                + "tests/device/README.md tells how to build the runtime.");
        }

        Skip.IfNot(there, $"no nanoFramework runtime in {Folder}: see tests/device/README.md");
    }

    /// <summary>The folder with mscorlib.dll and mscorlib.pe.</summary>
    public static string CoreLibrary { get; } = FindCoreLibrary();

    /// <summary>The newest build of one of our device assemblies.</summary>
    public static string DeviceAssembly(string project, string name) =>
        Directory.EnumerateFiles(Path.Combine(Root, project, "bin"), name + ".dll", SearchOption.AllDirectories)
            .MaxBy(File.GetLastWriteTimeUtc)!;

    /// <summary>Converts an assembly; returns the path of the .pe beside it.</summary>
    /// <param name="assembly">The .dll.</param>
    /// <param name="references">Every assembly that it may refer to.</param>
    public static string Convert(string assembly, IEnumerable<string> references)
    {
        string pe = Path.ChangeExtension(assembly, ".pe");
        Dictionary<string, string> paths = references.ToDictionary(r => Path.GetFileNameWithoutExtension(r));
        using AssemblyDefinition definition = AssemblyDefinition.ReadAssembly(assembly);
        List<string> arguments = [Path.Combine(Folder, "mdp", "MdpTool.dll"), assembly, pe];
        arguments.AddRange(definition.MainModule.AssemblyReferences.Select(r => r.Name + "=" + paths[r.Name]));
        string output = Execute("dotnet", arguments, 60_000, null);
        return File.Exists(pe) ? pe : throw new InvalidOperationException($"{assembly} was not converted: {output}");
    }

    /// <summary>Runs assemblies in their order of loading and returns the lines printed up to the end mark.</summary>
    public static string[] Run(bool withPins, IEnumerable<string> assemblies, int timeoutMs, string? button = null)
    {
        string program = withPins
            ? Path.Combine(Folder, "board", "nanoCLR.board")
            : Path.Combine(Folder, "nanoFramework.nanoCLR.test");
        string[] lines = Execute(program, assemblies, timeoutMs, button)
            .Split('\n').Select(line => line.TrimEnd('\r')).ToArray();
        int start = Array.IndexOf(lines, StartMark);
        int end = Array.IndexOf(lines, EndMark);
        return start >= 0 && end > start
            ? lines[(start + 1)..end]
            : throw new InvalidOperationException("the program ended without its end mark; its last lines:\n"
                + string.Join('\n', lines.TakeLast(20)));
    }

    private static string Execute(string program, IEnumerable<string> arguments, int timeoutMs, string? button)
    {
        ProcessStartInfo start = new(program, arguments)
        {
            RedirectStandardOutput = true,
            RedirectStandardError = true,
            RedirectStandardInput = true,
        };
        if (button != null)
        {
            start.Environment["NF_BUTTON"] = button;
        }

        // The board's threads never end: the end mark does.
        using Process process = new() { StartInfo = start };
        StringBuilder text = new();
        using ManualResetEventSlim ended = new();
        void Add(string? line)
        {
            lock (text)
            {
                text.Append(line).Append('\n');
            }

            if (line == EndMark)
            {
                ended.Set();
            }
        }

        process.OutputDataReceived += (_, e) => Add(e.Data);
        process.ErrorDataReceived += (_, e) => Add(e.Data);
        process.Exited += (_, _) => ended.Set();
        process.EnableRaisingEvents = true;
        process.Start();
        process.StandardInput.Close();
        process.BeginOutputReadLine();
        process.BeginErrorReadLine();
        bool inTime = ended.Wait(timeoutMs);
        if (inTime && process.WaitForExit(100))
        {
            process.WaitForExit(); // Until the last line has been read.
        }
        else
        {
            process.Kill(true);
        }

        lock (text)
        {
            return inTime
                ? text.ToString()
                : throw new InvalidOperationException($"{program} ran longer than {timeoutMs} ms; it printed\n"
                    + text.ToString()[^Math.Min(text.Length, 2000)..]);
        }
    }

    private static string FindCoreLibrary()
    {
        string root = typeof(NanoRuntime).Assembly.GetCustomAttributes(false)
            .OfType<System.Reflection.AssemblyMetadataAttribute>().Single(a => a.Key == "NuGetPackageRoot").Value!;
        string version = File.ReadLines(Path.Combine(Root, "Directory.Packages.props"))
            .Single(line => line.Contains("\"nanoFramework.CoreLibrary\"", StringComparison.Ordinal)).Split('"')[3];
        return Path.Combine(root, "nanoframework.corelibrary", version, "lib");
    }

    private static string FindRoot([CallerFilePath] string here = "") =>
        Path.GetFullPath(Path.Combine(Path.GetDirectoryName(here)!, "..", "..", ".."));
}
