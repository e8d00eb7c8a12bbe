using System.Text;
using Hourhinge.Rig;
using Hourhinge.SharedMath.Rig;
using Hourhinge.Tests.Support;

namespace Hourhinge.Tests.Host.Rig;

/// <summary>The table of keys, its page host/rig/KEYS.md and the templates that come from it.</summary>
public class RigKeysTests
{
    private const string Rewrite = "HOURHINGE_REWRITE_KEYS";

    /// <summary>Set the environment variable HOURHINGE_REWRITE_KEYS to 1 to write the page again.</summary>
    [Fact]
    public void The_reference_page_is_the_table()
    {
        string file = RepositoryFile.Path("host/rig/KEYS.md");
        if (Environment.GetEnvironmentVariable(Rewrite) == "1")
        {
            File.WriteAllText(file, Page());
        }

        Assert.Equal(Page(), File.ReadAllText(file));
    }

    [Fact]
    public void Every_parameter_of_the_controller_has_a_key_or_is_derived_from_one()
    {
        string[] derived = ["threads in rod.pitch_mm", "gear numerator", "gear denominator", "one-way motor"];
        string[] keys = [.. RigKeys.All.Select(k => k.Table.Replace("[]", "", StringComparison.Ordinal) + "." + k.Key)];
        for (int i = 0; i < RigParameters.Count; i++)
        {
            RigKey row = RigParameters.KeyOf(i);
            Assert.True(keys.Contains(row.Key) || derived.Contains(row.Key), row.Key);
            Assert.InRange(row.Default, row.Min, row.Max);
        }

        Assert.Equal(keys.Distinct(), keys);
    }

    [Theory]
    [InlineData("straight-rod")]
    [InlineData("bent-rod")]
    [InlineData("fixed-rod")]
    [InlineData("drive-tip-straight")]
    [InlineData("drive-tip-fixed")]
    [InlineData("camera-tip-straight")]
    [InlineData("camera-tip-fixed")]
    public void A_template_is_valid_with_every_default_written_out(string form)
    {
        string text = RigTemplate.Text(form);
        Assert.InRange(Encoding.UTF8.GetByteCount(text), 1, RigReader.MaxFileBytes * 3 / 4);
        RigDescription plain = RigReader.Read("new.toml", text);
        Assert.InRange(RigDrive.Design(plain).TravelSec, 3600, 12 * 3600);

        // Comments of the form "#key = value" become keys.
        string all = string.Join('\n', text.Split('\n').Select(line =>
            line.StartsWith("# ", StringComparison.Ordinal) || line.Contains("=  ", StringComparison.Ordinal)
                || line.Contains("= #", StringComparison.Ordinal) ? line : line.TrimStart('#')));
        Assert.Contains("\n[site]\n", all, StringComparison.Ordinal);
        RigDescription full = RigReader.Read("new.toml", all);
        Assert.NotNull(full.Camera);
        Assert.Equal(
            RigDrive.Parameters(plain).Values[..RigParameters.Latitude],
            RigDrive.Parameters(full).Values[..RigParameters.Latitude]);
    }

    [Fact]
    public void A_number_beyond_the_range_is_named_with_the_range_of_the_table()
    {
        string text = RigTemplate.Text("straight-rod");
        foreach (RigFileKey key in RigKeys.All.Where(k => k.Kind == KeyKind.Number && k.Sample != null
            && (k.Table is "hinge" or "rod") && (k.Only.Length == 0
                || k.Only.StartsWith("straight-rod, bent-rod", StringComparison.Ordinal))))
        {
            string wrong = System.Text.RegularExpressions.Regex.Replace(
                text, $@"(?m)^{key.Key} = \S+", $"{key.Key} = {key.Max + 1}");
            RigFileException error = Assert.Throws<RigFileException>(() => RigReader.Read("new.toml", wrong));
            Assert.Contains(
                $"{key.Table}.{key.Key} = {key.Max + 1}: must be {key.Allowed()}.", error.Message,
                StringComparison.Ordinal);
        }
    }

    private static string Page()
    {
        var page = new StringBuilder();
        page.Append("# Keys of a rig file\n\n");
        page.Append("This page is generated from the tables `host/rig/RigKeys.cs` and ");
        page.Append("`shared-math/rig/RigParameters.cs`. To write it again: ");
        page.Append($"`{Rewrite}=1 dotnet test tests/unit --filter RigKeysTests`.\n\n");
        page.Append("A rig file is TOML of at most ").Append(RigReader.MaxFileBytes).Append(" bytes. ");
        page.Append("A key without a default must be there when it belongs to the rig. ");
        page.Append("A length in mm may also be text with its unit: `\"9 1/16 in\"`, `\"9.0625 in\"`, ");
        page.Append("`'9 1/16\"'`, `\"230.2 mm\"`; an inch is 25.4 mm. ");
        page.Append("The last column is the command that edits the value on the controller ");
        page.Append("([PROTOCOL.md](../../firmware/PROTOCOL.md)).\n");
        foreach (string table in RigKeys.Tables)
        {
            page.Append(table.Length == 0 ? "\n## Top of the file\n"
                : table.EndsWith("[]", StringComparison.Ordinal)
                    ? $"\n## `[[{table[..^2]}]]`, at most {RigParameters.MaxPeriodic} times\n"
                    : $"\n## `[{table}]`\n");
            page.Append("\n| Key | Only with | Value | Default | Meaning | Controller |\n|---|---|---|---|---|---|\n");
            foreach (RigFileKey key in RigKeys.All.Where(k => k.Table == table))
            {
                page.Append(
                    $"| `{key.Key}` | {key.Only} | {Value(key)} | {Default(key)} | "
                    + $"{key.Meaning}{(key.IsCalibrated ? " (from calibration)" : "")} | ");
                page.Append(key.Header == null ? "|\n" : $"`{key.Header}` |\n");
            }
        }

        return page.ToString();
    }

    private static string Value(RigFileKey key) => key.Kind switch
    {
        KeyKind.IntegerNumber => "integer, " + key.Allowed(),
        KeyKind.Numbers => "list, " + key.Allowed(),
        KeyKind.Pairs => "list of pairs, " + key.Allowed(),
        KeyKind.Word => string.Join(", ", key.Words.Select(w => $"`\"{w}\"`")),
        _ => key.Allowed(),
    };

    private static string Default(RigFileKey key) => key.Default.Length == 0 ? "required"
        : key.Default == "\"\"" ? RigFileKey.None : key.Default;
}
