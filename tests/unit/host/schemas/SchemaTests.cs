using System.Text.Json;
using System.Text.Json.Nodes;
using Hourhinge.Tests.Host.App;
using Hourhinge.Tests.Host.Calibration.Stars;
using Hourhinge.Tests.Support;
using Json.Schema;

namespace Hourhinge.Tests.Host.Schemas;

/// <summary>The real program's --json output against host/schemas, by the validator JsonSchema.Net.</summary>
public sealed class SchemaTests : IDisposable
{
    private static readonly string _data = RepositoryFile.Path("host/examples/data");
    private static readonly Dictionary<string, JsonSchema> _schemas = [];
    private readonly string _folder = Directory.CreateTempSubdirectory("hourhinge-schemas-").FullName;

    public void Dispose() => Directory.Delete(_folder, true);

    [Theory]
    [InlineData("rig-check", "rig", "check", "RIG")]
    [InlineData("rig-check", "rig", "check", "DC")]
    [InlineData("profile", "profile", "RIG")]
    [InlineData("profile", "profile", "DC")]
    [InlineData("rehearse", "rehearse", "RIG", "--minutes", "2")]
    [InlineData("rehearse", "rehearse", "DC", "--minutes", "2", "--pass", "20")]
    [InlineData("budget", "budget", "RIG", "--exposure", "120", "--dec", "41")]
    [InlineData("night", "night", "--target", "M31", "--site", "47.2,12.6", "--date", "2026-10-12")]
    [InlineData("night", "night", "--target", "M31", "M33", "--rig", "RIG", "--date", "2026-10-12")]
    [InlineData("night", "night", "--target", "M31", "--site", "65,20", "--date", "2026-06-21")]
    [InlineData("night-pole", "night", "--pole", "--rig", "RIG", "--date", "2026-10-12")]
    [InlineData("night-pole", "night", "--pole", "--site", "-70,0", "--date", "2026-12-21")]
    [InlineData("night-year", "night", "--target", "M31", "--rig", "RIG", "--year", "--date", "2026-10-12")]
    [InlineData("night-year", "night", "--target", "M31", "--site", "-80,0", "--year", "--date", "2026-10-12")]
    [InlineData("calibrate-turns", "calibrate", "turns", "RIG", "--data", "DATA/dipper-turns.csv", "--dry-run")]
    [InlineData("calibrate-turns-motor", "calibrate", "turns", "RIG", "--data", "DATA/motor-speed.csv")]
    [InlineData("design", "design", "PARTS")]
    [InlineData("calibrate-rod", "calibrate", "rod", "FIXED", "--data", "DATA/wagtail-rod.csv")]
    public void Output_is_valid(string schema, params string[] args) =>
        AssertValid(schema, [.. args.Select(a => a switch
        {
            "RIG" => Tool.Example("bent-m6-geared"),
            "DC" => Tool.Example("bent-m6-dc-encoder"),
            "PARTS" => Path.Combine(Tool.Root, "host", "examples", "parts", "wheatear.toml"),
            "FIXED" => Tool.Example("fixed-rod-offset"),
            _ => a.Replace("DATA", _data, StringComparison.Ordinal),
        })]);

    [Fact]
    public void Output_of_frames_is_valid()
    {
        FewFrames.Write(_folder, [0, 4]);
        File.WriteAllText(Path.Combine(_folder, "night_009.fits"), "not a frame");
        AssertValid("frames", ["frames", _folder, "--no-state"]);
    }

    [Fact]
    public void Output_of_field_is_valid() => AssertValid("field", ["field",
        RepositoryFile.Path("tests/reference/photographs/fixed-24mm/frame-2.jpg"),
        RepositoryFile.Path("tests/reference/photographs/single/near-pole.jpg"), "--lens", "24", "--site", "13,77.6"]);

    [Fact]
    public void Output_of_star_calibration_is_valid()
    {
        string rig = Path.Combine(_folder, "small.toml");
        File.WriteAllText(rig, File.ReadAllText(Tool.Example("bent-m6-geared"))
            .Replace("width_px = 6000", "width_px = 900", StringComparison.Ordinal)
            .Replace("height_px = 4000", "height_px = 600", StringComparison.Ordinal));
        string field = Path.Combine(_folder, "field");
        (int code, _, string error) = Tool.Run("rehearse", rig, "--lens", "50", "--minutes", "10", "--axis-altitude",
            "20", "--frames", field, "--count", "8", "--exposure", "10", "--gap", "30", "--dec", "40", "--hour-angle",
            "-1");
        Assert.True(code is 0 or 1, error);
        string[] ask = ["calibrate", "stars", rig, field, "--dec", "40", "--hour-angle", "-1"];
        AssertValid("calibrate-stars", ask);
        AssertValid("calibrate-stars-quick", [.. ask, "--quick"]);
    }

    [Fact]
    public void Output_of_the_controllers_commands_is_valid()
    {
        using ServedController served = Tool.Serve();
        AssertValid("device-status", ["device", "status", "--to", served.Port]);
        AssertValid("device-watch", ["device", "watch", "--count", "1", "--to", served.Port]);
        AssertValid("upload", ["upload", Tool.Example("straight-quarter-twenty"), "--to", served.Port]);
        AssertValid("device-status", ["device", "status", "--to", served.Port]);
    }

    [Fact]
    public void Every_schema_is_on_the_page_and_its_fields_are_described()
    {
        string page = File.ReadAllText(RepositoryFile.Path("host/schemas/README.md"));
        string[] files = Directory.GetFiles(RepositoryFile.Path("host/schemas"), "*.schema.json");
        Assert.Equal(19, files.Length);
        foreach (string file in files)
        {
            Assert.Contains($"]({Path.GetFileName(file)})", page, StringComparison.Ordinal);
            JsonObject schema = JsonNode.Parse(File.ReadAllText(file))!.AsObject();
            Assert.Equal("https://json-schema.org/draft/2020-12/schema", schema["$schema"]!.GetValue<string>());
            Assert.All(schema["properties"]!.AsObject(), p => Assert.NotEmpty(p.Value!["description"]!.ToString()));
        }
    }

    /// <summary>What is wrong with an output by a schema; empty where nothing is.</summary>
    internal static string Problems(string name, string text)
    {
        using JsonDocument output = JsonDocument.Parse(text);
        return string.Join("\n", Undocumented(JsonNode.Parse(File.ReadAllText(SchemaFile(name)))!, JsonNode.Parse(text),
            "").Prepend(Errors(Load(name), output.RootElement)).Where(p => p.Length > 0));
    }

    private static void AssertValid(string name, string[] args)
    {
        (int code, string text, string error) = Tool.Run([.. args, "--json"]);
        Assert.True(code is 0 or 1 && text.Length > 0, $"{string.Join(' ', args)}: {code} {error}");
        JsonSchema schema = Load(name);
        Assert.Equal("", Problems(name, text));

        // The schema notices a missing field and a field of another type.
        JsonObject good = JsonNode.Parse(text)!.AsObject();
        foreach (string field in good.Select(p => p.Key).ToArray())
        {
            JsonObject missing = good.DeepClone().AsObject();
            missing.Remove(field);
            JsonObject other = good.DeepClone().AsObject();
            other[field] = new JsonObject();
            JsonObject known = JsonNode.Parse(File.ReadAllText(SchemaFile(name)))!.AsObject();
            if (known["required"]!.AsArray().Any(r => r!.GetValue<string>() == field))
            {
                Assert.NotEqual("", Errors(schema, JsonSerializer.SerializeToElement(missing)));
            }

            if (known["properties"]!.AsObject().ContainsKey(field))
            {
                Assert.NotEqual("", Errors(schema, JsonSerializer.SerializeToElement(other)));
            }
        }
    }

    // Fields that the program prints and the schema does not describe.
    private static IEnumerable<string> Undocumented(JsonNode? schema, JsonNode? output, string path) => output switch
    {
        JsonArray array => array.SelectMany(item => Undocumented(schema?["items"], item, path + "[]")).Distinct(),
        JsonObject fields => fields.SelectMany(f => schema?["properties"]?[f.Key] is { } known
            ? Undocumented(known, f.Value, $"{path}.{f.Key}")
            : [$"{path}.{f.Key}"]),
        _ => [],
    };

    private static string SchemaFile(string name) => RepositoryFile.Path($"host/schemas/{name}.schema.json");

    // The validator's registry refuses the same schema twice.
    private static JsonSchema Load(string name)
    {
        lock (_schemas)
        {
            return _schemas.TryGetValue(name, out JsonSchema? known) ? known
                : _schemas[name] = JsonSchema.FromText(File.ReadAllText(SchemaFile(name)));
        }
    }

    private static string Errors(JsonSchema schema, JsonElement output)
    {
        EvaluationResults results = schema.Evaluate(output, new EvaluationOptions
        {
            OutputFormat = OutputFormat.List,
            RequireFormatValidation = true,
        });
        return results.IsValid ? "" : string.Join("\n", (results.Details ?? [])
            .Where(d => d.Errors != null)
            .SelectMany(d => d.Errors!.Select(e => $"{d.InstanceLocation}: {e.Value}"))
            .DefaultIfEmpty("invalid"));
    }
}
