// The page of `hourhinge calibrate ... --html FILE`: one layout for all kinds of calibration, made from the fields that
// --json prints, so that page and JSON always agree. Charts and the table of readings: CalibrateHtmlReadings.cs.

using System.Globalization;
using System.Text.Json;
using Hourhinge.App.Common;
using Hourhinge.Report;

namespace Hourhinge.App.Calibrate;

internal static class CalibrateHtml
{
    private const string Half95 = "_half_95";

    // Unit suffixes of the JSON fields, the longer first.
    private static readonly (string Suffix, string Unit)[] _units =
    [
        ("_ppm_per_hour2", "ppm an hour²"), ("_ppm_per_hour", "ppm an hour"), ("_percent_per_hour", "% an hour"),
        ("_arcsec_per_s", "arcsec a second"),
        ("_turns_per_min_per_v", "turns a minute for a volt"), ("_turns_per_min", "turns a minute"),
        ("_percent", "%"), ("_arcmin", "arcmin"), ("_arcsec", "arcsec"), ("_ppm", "ppm"), ("_deg", "°"),
        ("_rad", "rad"), ("_min", "minutes"), ("_mm", "mm"), ("_px", "pixels"), ("_h", "hours"), ("_s", "s"),
        ("_v", "V"),
    ];

    // Where the key alone does not say it.
    private static readonly Dictionary<string, string> _labels = new()
    {
        ["motor_turns_per_nut_turn_file"] = "motor turns for a nut turn, rig file",
        ["motor_turns_per_nut_turn"] = "motor turns for a nut turn, measured",
        ["motor_turns_per_nut_turn_sigma"] = "its standard error",
        ["motor_turns_per_nut_turn_95_low"] = "95 % interval, from",
        ["motor_turns_per_nut_turn_95_high"] = "95 % interval, to",
        ["commanded_turns_per_counted_turn"] = "turns commanded for a turn counted",
        ["ratio_sigma"] = "standard error of the ratio",
        ["scatter"] = "scatter of a press of the stopwatch",
        ["each_arm_sigma"] = "standard error of each arm",
        ["rig_file_rate_error"] = "rate error with the rig file's numbers (+ fast)",
        ["rate_sigma"] = "standard error of the rate with the measured numbers",
        ["turns_per_min_per_v"] = "speed for a volt, turns a minute",
        ["turns_per_min_per_v_sigma"] = "standard error of it",
        ["dead_band"] = "dead band",
        ["dead_band_sigma"] = "standard error of the dead band",
        ["break_away_least"] = "does not start from rest at",
        ["break_away_most"] = "starts from rest at",
        ["least_running"] = "keeps turning down to",
        ["curve_supply"] = "supply of the curve",
        ["correction"] = "rate correction at the start",
        ["slope"] = "its slope",
        ["curve"] = "its curve",
        ["hold"] = "held from",
        ["first_mid_exposure"] = "middle of the first exposure, after the start",
        ["best_second_field_hour_angle"] = "best hour angle for a second field",
        ["effective_rate_error"] = "rate error, axis left as it is (+ fast)",
        ["rate_error"] = "rate error (+ fast)",
        ["rate_change"] = "change of the rate error",
        ["sky_rate"] = "rate at which the sky turned",
        ["k1"] = "lens distortion k1",
        ["k2"] = "lens distortion k2",
        ["axis_high"] = "axis too high",
        ["axis_west"] = "axis too far west",
    };

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
        string meaning = FieldText(result, "meaning") + FieldText(result, "advice");
        string sentence = good
            ? "Good to use: nothing in the readings speaks against it." + (meaning.Length > 0 ? " " + meaning : "")
            : $"Do not trust this: {reasons[0]}";
        var sections = new List<Section> { Next(result, reasons, rigFile) };
        if (reasons.Count > 1)
        {
            sections.Add(new Notes("Why not to trust it", [.. reasons]));
        }

        Facts facts = Result(result);
        if (facts.Rows.Count > 0)
        {
            sections.Add(facts);
        }

        sections.AddRange(Estimates(result));
        sections.AddRange(Parameters(result));
        sections.AddRange(CalibrateHtmlReadings.Of(result));
        foreach (JsonProperty field in result.EnumerateObject()
            .Where(f => f.Name != "frame_names" && IsTextList(f.Value)))
        {
            sections.Add(
                new Notes(Capital(Label(field.Name).Name), [.. field.Value.EnumerateArray().Select(FieldText)]));
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

    private static Notes Next(JsonElement result, IReadOnlyList<string> reasons, string rigFile)
    {
        string file = Path.GetFileName(rigFile);
        double[] left = CalibrateHtmlReadings.Numbers(result, "outlier_lines");
        var steps = new List<string>();
        if (reasons.Count > 0)
        {
            steps.Add($"Do not store this result. {file} stays as it is.");
            steps.Add(left.Length > 0
                ? $"Measure again what stands on {Lines(left)} of the readings, then repeat the command."
                : FieldText(result, "method").StartsWith("stars", StringComparison.Ordinal)
                    ? "Remove what the reasons name, take frames again, then repeat the command."
                    : "Take more readings, spread over the whole travel, then repeat the command.");
            return new Notes("What to do next", steps);
        }

        if (left.Length > 0)
        {
            steps.Add($"Look at {Lines(left)} of the readings: left out, because the others contradict it.");
        }

        steps.Add(
            $"Store the result: repeat the command with --write. Then upload the profile: hourhinge upload {file}.");
        return new Notes("What to do next", steps);
    }

    // Single values; those with an interval stand in a table of their own.
    private static Facts Result(JsonElement result)
    {
        JsonProperty[] fields = [.. result.EnumerateObject()];
        HashSet<string> own = [.. fields.Where(f => f.Name.Contains(Half95, StringComparison.Ordinal))
            .SelectMany(f => new[] { f.Name, f.Name.Replace(Half95, "", StringComparison.Ordinal) })];
        return new Facts("Result", [.. fields
            .Where(f => f.Name is not ("rig" or "method" or "meaning" or "cause" or "advice") && !own.Contains(f.Name))
            .Where(f => f.Value.ValueKind is JsonValueKind.Number or JsonValueKind.String or JsonValueKind.True
                or JsonValueKind.False)
            .Select(f =>
            {
                (string name, string unit) = Label(f.Name);
                string value = FieldText(f.Value);
                return (Capital(name), unit.Length == 0 ? value : unit == "°" ? value + unit : $"{value} {unit}");
            })]);
    }

    private static IEnumerable<Section> Estimates(JsonElement result)
    {
        string[][] rows = [.. result.EnumerateObject()
            .Where(f => f.Name.Contains(Half95, StringComparison.Ordinal))
            .Select(f =>
            {
                string key = f.Name.Replace(Half95, "", StringComparison.Ordinal);
                (string name, string unit) = Label(key);
                return result.TryGetProperty(key, out JsonElement value) && value.ValueKind == JsonValueKind.Number
                    && f.Value.ValueKind == JsonValueKind.Number && f.Value.GetDouble() > 0
                    ? (string[])[name, Rounded(value, f.Value), Rounded(f.Value, f.Value), unit]
                    : [name, FieldText(result, key), FieldText(f.Value), unit];
            })];
        return rows.Length == 0 ? [] :
        [
            new DataTable("Measured", [Column.Text("quantity"), Column.Number("value"), Column.Number("± 95 %"),
                Column.Text("unit")], rows),
        ];
    }

    // Lengths and angles have keys of their own: name, rig_file_<unit>, value_<unit>, sigma_<unit>, half_95_<unit>.
    private static IEnumerable<Section> Parameters(JsonElement result)
    {
        if (!result.TryGetProperty("parameters", out JsonElement list) || list.GetArrayLength() == 0)
        {
            return [];
        }

        string[][] rows = [.. list.EnumerateArray().Select(p =>
        {
            bool isHeld = p.TryGetProperty("held", out JsonElement held) && held.ValueKind == JsonValueKind.True;
            string Cell(string start)
            {
                JsonProperty found = p.EnumerateObject()
                    .FirstOrDefault(f => f.Name.StartsWith(start, StringComparison.Ordinal));
                return found.Value.ValueKind == JsonValueKind.Undefined ? "–" : FieldText(found.Value);
            }

            string unit = p.EnumerateObject().Any(f => f.Name == "value_deg") ? "°" : "mm";
            return (string[])[FieldText(p, "name"), Cell("rig_file_"), isHeld ? "held" : Cell("value_"),
                isHeld ? "–" : Cell("sigma_"), isHeld ? "–" : Cell("half_95_"), unit];
        })];
        return
        [
            new DataTable("Measured against the rig file",
                [Column.Text("quantity"), Column.Number("rig file"), Column.Number("measured"), Column.Number("± 1 σ"),
                    Column.Number("± 95 %"), Column.Text("unit")], rows),
        ];
    }

    private static bool IsTextList(JsonElement value) => value.ValueKind == JsonValueKind.Array
        && value.GetArrayLength() > 0 && value.EnumerateArray().All(i => i.ValueKind == JsonValueKind.String);

    private static string Lines(double[] lines) =>
        $"line{(lines.Length > 1 ? "s" : "")} {string.Join(", ", lines.Select(l => $"{l:0}"))}";

    private static (string Name, string Unit) Label(string key)
    {
        string whole = key;
        string unit = "";
        if (!_labels.ContainsKey(key))
        {
            (string suffix, unit) = _units.FirstOrDefault(u => key.EndsWith(u.Suffix, StringComparison.Ordinal));
            (suffix, unit) = (suffix ?? "", unit ?? "");
            whole = key[..^suffix.Length];
        }

        return (_labels.TryGetValue(whole, out string? label) ? label : whole.Replace('_', ' '), unit);
    }

    private static string Capital(string text) => text.Length == 0 ? text : char.ToUpperInvariant(text[0]) + text[1..];

    // To two digits of the interval: more say nothing.
    private static string Rounded(JsonElement value, JsonElement half95)
    {
        int decimals = Math.Clamp(1 - (int)Math.Floor(Math.Log10(half95.GetDouble())), 0, 10);
        return value.GetDouble().ToString($"F{decimals}", CultureInfo.InvariantCulture).Replace('-', '−');
    }

    private static string FieldText(JsonElement result, string name) =>
        result.TryGetProperty(name, out JsonElement value) ? FieldText(value) : "";

    private static string FieldText(JsonElement value) => value.ValueKind switch
    {
        JsonValueKind.String => value.GetString() ?? "",
        JsonValueKind.True => "yes",
        JsonValueKind.False => "no",
        JsonValueKind.Null => "–",
        _ => value.GetDouble().ToString("0.##########", CultureInfo.InvariantCulture).Replace('-', '−'),
    };
}
