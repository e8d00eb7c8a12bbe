// The text of a new rig file, from the table of keys.

using System.Text;

namespace Hourhinge.Rig;

/// <summary>Writes commented rig files to fill in.</summary>
public static class RigTemplate
{
    private static readonly string[] _optionalTables = ["camera", "site"];

    /// <summary>The hinge forms that a template can have.</summary>
    public static IReadOnlyList<string> Forms { get; } = RigKeys.Get("hinge", "form").Words;

    /// <summary>
    /// A rig of this form with a stepper: a valid file with sample values. Keys with a default, and tables that need
    /// not
    /// be there, are comments.
    /// </summary>
    public static string Text(string form)
    {
        var text = new StringBuilder(
            "# Put in what you measured. Remove the # in front of a line to change a default. Units are in the "
            + "names.\n");
        foreach (IGrouping<string, RigFileKey> table in RigKeys.All.Where(k => BelongsTo(k, form))
            .GroupBy(k => k.Table))
        {
            string mark = _optionalTables.Contains(table.Key) ? "#" : "";
            text.Append(table.Key.Length == 0 ? "" : $"\n{mark}[{table.Key}]\n");
            foreach (RigFileKey key in table)
            {
                string value = key.Key == "form" ? $"\"{form}\""
                    : key.IsDefaultComputed ? ""
                    : key.Sample ?? (key.Default == RigFileKey.None ? "[]" : key.Default);
                string line = $"{(key.Sample == null ? "#" : mark)}{key.Key} = {value}";
                text.Append($"{line,-28}# {Comment(key)}\n");
            }
        }

        return text.ToString();
    }

    private static bool BelongsTo(RigFileKey key, string form)
    {
        string[] only = key.Only.Split(", ");
        return !key.IsCalibrated && (key.Only.Length == 0 || only.Contains(form) || only.Contains("stepper"));
    }

    private static string Comment(RigFileKey key) =>
        key.Kind == KeyKind.Word ? string.Join(", ", key.Words) + (key.Key == "form" ? $". {key.Meaning}" : "")
            : key.IsDefaultComputed ? $"{key.Meaning}; default: {key.Default}"
            : key.Meaning;
}
