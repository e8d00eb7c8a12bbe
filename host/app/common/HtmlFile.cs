// --html FILE: writes a report page, and holds what all pages share. Each command's page lives in the command's folder;
// how a page is built: host/report.

using Hourhinge.Report;

namespace Hourhinge.App.Common;

internal static class HtmlFile
{
    /// <summary>Safety cautions for every page about a rig.</summary>
    public static Cautions RigCautions { get; } = new(
        "A motor on a threaded rod is strong: keep fingers, hair and straps out of the hinge while it moves or "
        + "rewinds.",
        "Charge and carry lithium packs as their maker says, never swollen or wet.",
        "Mark the tripod and its cables with dim lights on a dark path.",
        "Do not aim the axis with a laser where aircraft may be; local rules may forbid it altogether.");

    /// <summary>Rejects a file of another kind, before any work is done.</summary>
    public static void Check(FileInfo? file)
    {
        if (file != null && file.Extension.ToUpperInvariant() is not (".HTML" or ".HTM"))
        {
            throw new InputException($"--html {file.Name}: the name must end with .html or .htm.");
        }

        AtomicFile.Check(file, "--html");
    }

    /// <summary>Writes a page and reports it on standard error.</summary>
    public static void Write(FileInfo file, HtmlPage page)
    {
        AtomicFile.Write(file, "--html", page.ToHtml());
        ConsoleOutput.WriteRemark($"Wrote {file}.");
    }

    /// <summary>Where a page comes from: command, rig file, and the file's digest, which the controller knows
    /// too.</summary>
    public static string Source(string command, LoadedRig loaded) =>
        $"Made by: hourhinge {command} {Path.GetFileName(loaded.Path)}. Digest of the rig file (CRC-32): "
        + $"{loaded.Drive.Profile.RigDigest:X8}.";
}
