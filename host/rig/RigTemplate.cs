// The text of a new rig file, from the table of keys.

using System.Text;
using Hourhinge.SharedMath.Compile;
using Hourhinge.SharedMath.Rig;

namespace Hourhinge.Rig;

/// <summary>Writes commented rig files: with sample values to replace, or with the maker's answers.</summary>
public static class RigTemplate
{
    // Longer entries do not move the comments of their table.
    private const int MaxEntryWidth = 24;

    /// <summary>Tables that a rig file need not have.</summary>
    public static IReadOnlyList<string> OptionalTables { get; } = ["pack", "camera", "site"];

    /// <summary>The hinge forms that a template can have.</summary>
    public static IReadOnlyList<string> Forms { get; } = RigKeys.Get("hinge", "form").Words;

    /// <summary>The drives that a template can have.</summary>
    public static IReadOnlyList<string> Drives { get; } = RigKeys.Get("motor", "kind").Words;

    /// <summary>
    /// A rig of this form and drive: a valid file with sample values. Keys with a default, and tables that need not
    /// be there, are comments.
    /// </summary>
    public static string Text(string form, string drive = "stepper") =>
        Write(form, drive, new Dictionary<RigFileKey, string?>(),
            "# Put in what you measured. Remove the # in front of a line to change a default. Units are in the "
            + "names.\n# A length may also be written with its unit, such as \"9 1/16 in\".\n");

    /// <summary>
    /// A rig file with values as TOML text by key. A key without a value keeps its default as a comment; a null value
    /// makes a comment of a key that would have a sample.
    /// </summary>
    public static string Text(string form, string drive, IReadOnlyDictionary<RigFileKey, string?> values) =>
        Write(form, drive, values, "# Remove the # in front of a line to change a default. Units are in the names.\n");

    /// <summary>True for a key that a new rig file of this form and drive has.</summary>
    public static bool BelongsTo(RigFileKey key, string form, string drive)
    {
        string[] only = key.Only.Split(", ");
        return !key.IsCalibrated && (key.Only.Length == 0 || only.Contains(form) || only.Contains(drive));
    }

    /// <summary>A sample value as TOML text; null for a key that is a comment in a template.</summary>
    public static string? SampleOf(RigFileKey key, string drive) =>
        drive == "stepper" ? key.Sample : key.DcSample ?? key.Sample;

    private static string Write(
        string form, string drive, IReadOnlyDictionary<RigFileKey, string?> values, string heading)
    {
        var text = new StringBuilder(heading);
        foreach (IGrouping<string, RigFileKey> table in RigKeys.All.Where(k => BelongsTo(k, form, drive))
            .GroupBy(k => k.Table))
        {
            bool isComment = OptionalTables.Contains(table.Key) && !table.Any(values.ContainsKey);
            text.Append(table.Key.Length == 0 ? "" : $"\n{(isComment ? "#" : "")}[{table.Key}]\n");
            (string Entry, string Comment)[] lines = [.. table.Select(key =>
            {
                string? sample = key.Key == "form" ? $"\"{form}\"" : key.Key == "kind" ? $"\"{drive}\""
                    : SampleOf(key, drive);
                string? given = values.GetValueOrDefault(key);
                bool isValue = given != null || (!isComment && sample != null && !values.ContainsKey(key));
                string value = given ?? sample ?? (key.IsDefaultComputed ? ""
                    : key.Default == RigFileKey.None ? "[]" : key.Default);
                return ($"{(isValue ? "" : "#")}{key.Key} = {value}", Comment(key, form));
            })];
            int width = lines.Max(l => l.Entry.Length <= MaxEntryWidth ? l.Entry.Length : 0);
            foreach ((string entry, string comment) in lines)
            {
                text.Append($"{entry.PadRight(width)} # {comment}\n");
            }
        }

        return text.ToString();
    }

    private static string Comment(RigFileKey key, string form) =>
        key.Key == "form" ? FormComment(key, form)
            : key.Kind == KeyKind.Word ? string.Join(", ", key.Words)
            : key.IsDefaultComputed ? $"{key.Meaning}; default: {key.Default}"
            : key.Meaning;

    // The last sentence is about double arms, the others about rods: a template has what belongs to its form.
    private static string FormComment(RigFileKey key, string form)
    {
        string[] sentences = key.Meaning.Split(". ");
        return RigHinges.HasSecondArm(RigParameters.KeyOf(RigParameters.Form).Words.IndexOf(form))
            ? sentences[^1].Replace("Double arms: ", "", StringComparison.Ordinal)
            : string.Join(". ", sentences[..^1]);
    }
}
