// Reports an unforeseen error: one sentence on the terminal, the details in a file.

using System.Globalization;
using System.Runtime.InteropServices;
using Hourhinge.App.Common;

namespace Hourhinge.App;

internal static class LastResort
{
    /// <summary>Reports errors of threads that the commands start.</summary>
    public static void CoverOtherThreads(string[] args) =>
        AppDomain.CurrentDomain.UnhandledException += (_, e) =>
        {
            AtomicFile.DiscardUnfinished();
            Environment.Exit(Report(e.ExceptionObject as Exception ?? new InvalidOperationException("unknown"), args));
        };

    /// <summary>Writes the details into a file of the folder for temporary files, names it in one sentence, and gives
    /// the exit code.</summary>
    public static int Report(Exception e, string[] args)
    {
        string where;
        try
        {
            string file = Path.Combine(Path.GetTempPath(), string.Create(CultureInfo.InvariantCulture,
                $"hourhinge-error-{DateTime.UtcNow:yyyyMMdd-HHmmss}-{Guid.NewGuid().ToString("N")[..6]}.txt"));
            File.WriteAllText(file, Details(e, args));
            where = $"the details are in {file}";
        }
        catch (Exception cannot) when (cannot is IOException or UnauthorizedAccessException)
        {
            where = $"the details could not be written ({AtomicFile.Reason(cannot)})";
        }

        ConsoleOutput.WriteError(
            $"this is an error of the program, not yours ({e.GetType().Name}: "
            + $"{e.Message.Split('\n')[0].TrimEnd('.')}); "
            + $"{where}.");
        return ExitCode.InternalError;
    }

    private static string Details(Exception e, string[] args) => $"""
        hourhinge {typeof(LastResort).Assembly.GetName().Version}
        {RuntimeInformation.OSDescription}, {RuntimeInformation.FrameworkDescription}
        Arguments, one a line:
        {string.Join('\n', args)}

        {e}

        """;
}
