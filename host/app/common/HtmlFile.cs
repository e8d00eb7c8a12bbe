// --html FILE: writing a report page, and what every page shares. The pages themselves: one file a command beside this
// one. How a page is built: host/report.

using System.Text;
using Hourhinge.Report;
using Hourhinge.SharedMath.Geometry;

namespace Hourhinge.App.Common;

internal static class HtmlFile
{
    /// <summary>What can hurt at the rig; on every page about one.</summary>
    public static Cautions RigCautions { get; } = new(
        "A motor on a threaded rod is strong: keep fingers, hair and straps out of the hinge while it moves or "
        + "rewinds.",
        "Charge and carry lithium packs as their maker says, never swollen or wet.",
        "Mark the tripod and its cables with dim lights on a dark path.",
        "Do not aim the axis with a laser where aircraft may be; local rules may forbid it altogether.");

    /// <summary>Refuses a file of another kind, before any work is done.</summary>
    public static void Check(FileInfo? file)
    {
        if (file != null && file.Extension.ToUpperInvariant() is not (".HTML" or ".HTM"))
        {
            throw new InputException($"--html {file.Name}: the name must end with .html or .htm.");
        }
    }

    /// <summary>Writes a page and says so on standard error.</summary>
    public static void Write(FileInfo file, HtmlPage page)
    {
        try
        {
            File.WriteAllText(file.FullName, page.ToHtml(), new UTF8Encoding(false));
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            throw new InputException($"--html {file.Name}: cannot write the page: {e.Message}");
        }

        ConsoleOutput.Note($"Wrote {file}.");
    }

    /// <summary>Where a page comes from: command, rig file, and the file's digest, which the controller knows
    /// too.</summary>
    public static string Source(string command, LoadedRig loaded) =>
        $"Made by: hourhinge {command} {Path.GetFileName(loaded.Path)}. Digest of the rig file (CRC-32): "
        + $"{loaded.Drive.Profile.RigDigest:X8}.";

    /// <summary>The hinge in words.</summary>
    public static string Hinge(HingeGeometry hinge) => hinge switch
    {
        FixedRodHinge f =>
            $"rod fixed square to its board at {ConsoleOutput.Number(f.RadiusMm, 1)} mm, riding surface offset "
            + $"{ConsoleOutput.Number(f.SurfaceOffsetMm, 1)} mm, tip radius "
            + $"{ConsoleOutput.Number(f.TipRadiusMm, 1)} mm",
        SwivelledRodHinge s =>
            $"rod free to turn at both ends, arms {ConsoleOutput.Number(s.NutArmMm, 1)} and "
            + $"{ConsoleOutput.Number(s.AnchorArmMm, 1)} mm, "
            + (s.BendRadiusMm > 0 ? $"bent to a radius of {ConsoleOutput.Number(s.BendRadiusMm, 1)} mm" : "straight"),
        _ => hinge.GetType().Name,
    };
}
