using System.ComponentModel;
using System.Diagnostics;

namespace Hourhinge.Tests.Support;

/// <summary>
/// A Python that has a module: HOURHINGE_PYTHON where it is set, otherwise the first python3 on PATH that can import
/// it.
/// </summary>
public static class PythonInterpreter
{
    /// <summary>Path of the interpreter; null where none has the modules.</summary>
    /// <param name="modules">Names as in an import statement, separated by commas.</param>
    public static string? With(string modules) => Candidates().FirstOrDefault(path => CanImport(path, modules));

    private static IEnumerable<string> Candidates() =>
        Environment.GetEnvironmentVariable("HOURHINGE_PYTHON") is { Length: > 0 } given
            ? [given]
            : (Environment.GetEnvironmentVariable("PATH") ?? "").Split(Path.PathSeparator)
                .Select(folder => Path.Combine(folder, "python3")).Where(File.Exists);

    private static bool CanImport(string path, string modules)
    {
        try
        {
            using Process probe =
                Process.Start(
                    new ProcessStartInfo(path, ["-c", "import " + modules]) { RedirectStandardError = true })!;
            probe.StandardError.ReadToEnd();
            probe.WaitForExit();
            return probe.ExitCode == 0;
        }
        catch (Win32Exception)
        {
            return false;
        }
    }
}
