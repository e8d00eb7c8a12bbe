// The page of `hourhinge calibrate ... --html FILE`: one layout for all kinds of calibration, made from the fields that
// --json prints, so that page and JSON always agree.

using System.Text.Json;
using Hourhinge.App.Common;
using Hourhinge.Report;

namespace Hourhinge.App.Calibrate;

internal static class CalibrateHtml
{
    /// <summary>Builds the page from the result's JSON object.</summary>
    /// <param name="result">The object that the calibration prints with --json.</param>
    /// <param name="reasons">Why not to trust it; empty for a sound result.</param>
    /// <param name="rigFile">The rig file's name.</param>
    /// <param name="night">Starts in the night theme.</param>
    public static HtmlPage Page(JsonElement result, IReadOnlyList<string> reasons, string rigFile, bool night)
    {
        bool good = reasons.Count == 0;
        string rig = FieldText(result, "rig");
        string method = FieldText(result, "method");
        string sentence = good
            ? "Good to use: nothing in the readings speaks against it."
            : $"Do not trust this: {reasons[0]}";
        JsonProperty[] fields = [.. result.EnumerateObject().Where(f => f.Name is not ("rig" or "method"))];
        var sections = new List<Section>();
        if (reasons.Count > 1)
        {
            sections.Add(new Notes("Why not to trust it", [.. reasons]));
        }

        (string, string)[] facts = [.. fields
            .Where(f => f.Value.ValueKind is JsonValueKind.Number or JsonValueKind.String or JsonValueKind.True
                or JsonValueKind.False)
            .Select(f => (Label(f.Name), FieldText(f.Value)))];
        if (facts.Length > 0)
        {
            sections.Add(new Facts("Result", facts));
        }

        foreach (JsonProperty field in fields.Where(f => f.Value.ValueKind == JsonValueKind.Array
            && f.Value.GetArrayLength() > 0))
        {
            sections.Add(List(field));
        }

        sections.Add(HtmlFile.RigCautions);
        return new HtmlPage($"{rig}: {method} calibration",
            new AssessmentBanner(good ? AssessmentKind.Good : AssessmentKind.NotGood, sentence))
        {
            Night = night,
            Source = $"Made by: hourhinge calibrate {method} {Path.GetFileName(rigFile)}.",
            Sections = sections,
        };
    }

    private static Section List(JsonProperty field)
    {
        JsonElement[] items = [.. field.Value.EnumerateArray()];
        string title = Label(field.Name);
        if (items.All(i => i.ValueKind == JsonValueKind.String))
        {
            return new Notes(title, [.. items.Select(FieldText)]);
        }

        if (items[0].ValueKind != JsonValueKind.Object)
        {
            return new DataTable(title, [Column.Number("no.", ""), Column.Number("value", "")],
                [.. items.Select((v, i) => (string[])[$"{i + 1}", FieldText(v)])]);
        }

        string[] names = [.. items[0].EnumerateObject().Select(p => p.Name)];
        Column[] columns = [.. names.Select(n => items[0].GetProperty(n).ValueKind == JsonValueKind.Number
            ? Column.Number(Label(n), "") : Column.Text(Label(n)))];
        return new DataTable(title, columns,
            [.. items.Select(i =>
                names.Select(n => i.TryGetProperty(n, out JsonElement v) ? FieldText(v) : "–").ToArray())]);
    }

    private static string FieldText(JsonElement result, string name) =>
        result.TryGetProperty(name, out JsonElement value) ? FieldText(value) : "";

    private static string Label(string name) => name.Replace('_', ' ');

    private static string FieldText(JsonElement value) => value.ValueKind switch
    {
        JsonValueKind.String => value.GetString() ?? "",
        JsonValueKind.True => "yes",
        JsonValueKind.False => "no",
        JsonValueKind.Null => "–",
        _ => value.GetRawText(),
    };
}
