// The frames of a folder. Nothing is skipped in silence: what is no frame is named, and of a raw file and a JPEG of the
// same shot one is taken and the other named.
namespace Hourhinge.Frames.Reading;

/// <summary>A folder's frames.</summary>
/// <param name="Files">Frames, and pictures of kinds that <see cref="FrameReader"/> refuses by name; sorted by name
/// (ordinal).</param>
/// <param name="Remarks">What was left out, as sentences.</param>
public sealed record FrameFolder(IReadOnlyList<string> Files, IReadOnlyList<string> Remarks)
{
    private const int NamesTold = 4;

    private static readonly string[] _pairs = [".jpg", ".jpeg"];

    // Notes that people, this program and others write beside frames: nobody takes them for frames.
    private static readonly string[] _notes =
        [".txt", ".md", ".json", ".csv", ".toml", ".xmp", ".html", ".log", ".svg", ".pdf"];

    /// <summary>Lists a folder; hidden files, which begin with a dot, are no frames.</summary>
    public static FrameFolder Of(string folder)
    {
        var all = Directory.EnumerateFiles(folder).Where(f => !Path.GetFileName(f).StartsWith('.'))
            .Order(StringComparer.Ordinal).ToList();
        var remarks = new List<string>();
        var files = all.Where(f => IsAny(f, FrameReader.Extensions) || RawReader.IsRaw(f)
            || IsAny(f, OtherKinds.Extensions)).ToList();
        var others = all.Except(files, StringComparer.Ordinal).Where(f => !IsAny(f, _notes)).ToList();
        if (others.Count > 0)
        {
            remarks.Add($"no frames by their names: {Names(others)}.");
        }

        var raws = files.Where(RawReader.IsRaw).Select(Path.GetFileNameWithoutExtension)
            .ToHashSet(StringComparer.OrdinalIgnoreCase);
        var twins = files.Where(f => IsAny(f, _pairs) && raws.Contains(Path.GetFileNameWithoutExtension(f))).ToList();
        if (twins.Count > 0)
        {
            remarks.Add($"the raw file of the same shot is taken instead of {Names(twins)}.");
        }

        return new FrameFolder([.. files.Except(twins, StringComparer.Ordinal)], remarks);
    }

    private static bool IsAny(string path, IReadOnlyList<string> endings) =>
        endings.Contains(Path.GetExtension(path), StringComparer.OrdinalIgnoreCase);

    private static string Names(List<string> files) => string.Join(", ", files.Take(NamesTold).Select(Path.GetFileName))
        + (files.Count > NamesTold ? $" and {files.Count - NamesTold} more" : "");
}

/// <summary>How far the work over many frames has come.</summary>
/// <param name="Done">Frames done, remembered ones included.</param>
/// <param name="Total">All frames.</param>
/// <param name="Latest">The frame just done.</param>
public readonly record struct GradingProgress(int Done, int Total, string Latest);
