// Finds programs that the tests call but that are not part of the repository: browser, PDF renderer, Python.

using System.Diagnostics;

namespace Hourhinge.Tests.Support;

/// <summary>A program on this machine. An environment variable names its file; else it is searched in PATH.</summary>
public sealed class OutsideProgram
{
    private readonly string _missing;

    private OutsideProgram(string? file, string missing)
    {
        File = file;
        _missing = missing;
    }

    /// <summary>A Chromium browser; HOURHINGE_CHROMIUM.</summary>
    public static OutsideProgram Chromium { get; } = Find("chromium", "HOURHINGE_CHROMIUM");

    /// <summary>Poppler's PDF renderer; HOURHINGE_PDFTOPPM.</summary>
    public static OutsideProgram PdfToPpm { get; } = Find("pdftoppm", "HOURHINGE_PDFTOPPM");

    /// <summary>
    /// The first Python 3 that can import all of the modules: HOURHINGE_PYTHON, or one of those in PATH, where often
    /// more than one is installed.
    /// </summary>
    public static OutsideProgram PythonWith(params string[] modules) =>
        new(Candidates("python3", "HOURHINGE_PYTHON")
                .FirstOrDefault(file => Run(file, ["-c", "import " + string.Join(", ", modules)]).Code == 0),
            $"no python3 in PATH or HOURHINGE_PYTHON has the modules {string.Join(", ", modules)}");

    /// <summary>Full path of the program; null where it is not installed.</summary>
    public string? File { get; }

    /// <summary>Skips the calling test where the program is not installed, and says so.</summary>
    public void SkipIfMissing() => Skip.If(File == null, "SKIPPED: " + _missing);

    /// <summary>Runs the program to its end; exit code, standard output followed by standard error.</summary>
    public (int Code, string Text) Run(params string[] args) =>
        Run(File ?? throw new InvalidOperationException(_missing), args);

    private static OutsideProgram Find(string name, string variable) =>
        new(Candidates(name, variable).FirstOrDefault(), $"{name} is neither in PATH nor named by {variable}");

    private static IEnumerable<string> Candidates(string name, string variable) =>
        (Environment.GetEnvironmentVariable(variable) is { Length: > 0 } given
            ? [given]
            : (Environment.GetEnvironmentVariable("PATH") ?? "").Split(Path.PathSeparator)
                .SelectMany(folder => new[] { Path.Combine(folder, name), Path.Combine(folder, name + ".exe") }))
        .Where(System.IO.File.Exists);

    private static (int Code, string Text) Run(string file, string[] args)
    {
        var start = new ProcessStartInfo(file, args) { RedirectStandardOutput = true, RedirectStandardError = true };
        using Process process = Process.Start(start)!;
        Task<string> error = process.StandardError.ReadToEndAsync();
        string output = process.StandardOutput.ReadToEnd();
        process.WaitForExit();
        return (process.ExitCode, output + error.Result);
    }
}
