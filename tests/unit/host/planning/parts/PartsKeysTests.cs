using System.Text;
using Hourhinge.Planning.Parts;
using Hourhinge.Rig;
using Hourhinge.Tests.Support;

namespace Hourhinge.Tests.Host.Planning.Parts;

/// <summary>The page hardware-notes/parts-file.md is the table of keys. HOURHINGE_WRITE_DOCUMENTS=1 writes
/// it.</summary>
public class PartsKeysTests
{
    [Fact]
    public void The_reference_page_is_the_table()
    {
        string file = RepositoryFile.Path("hardware-notes") + "/parts-file.md";
        if (Environment.GetEnvironmentVariable("HOURHINGE_WRITE_DOCUMENTS") == "1")
        {
            File.WriteAllText(file, Page());
        }

        Assert.Equal(Page(), File.ReadAllText(file));
    }

    private static string Page()
    {
        var page = new StringBuilder();
        page.Append("# Keys of a file of parts\n\nWhat `hourhinge design PARTS` reads. The page is generated from ");
        page.Append(
            "`host/planning/parts/PartsKeys.cs`: `HOURHINGE_WRITE_DOCUMENTS=1 dotnet test tests/unit --filter ");
        page.Append(
            "PartsKeysTests`. An example: [wheatear.toml](../host/examples/parts/wheatear.toml). Lengths may also ");
        page.Append("be text with a unit, such as `\"9 1/16 in\"`.\n");
        foreach (IGrouping<string, RigFileKey> table in PartsKeys.All.GroupBy(k => k.Table))
        {
            string name = table.Key.Length == 0 ? "Top of the file"
                : table.Key.EndsWith("[]", StringComparison.Ordinal) ? $"`[[{table.Key[..^2]}]]`, one for each"
                : $"`[{table.Key}]`";
            page.Append($"\n## {name}\n\n| Key | Only with | Value | Default | Meaning |\n|---|---|---|---|---|\n");
            foreach (RigFileKey key in table)
            {
                string list = key.Kind switch
                {
                    KeyKind.Numbers => "list, ",
                    KeyKind.Pairs => "list of pairs, ",
                    KeyKind.IntegerNumber => "integer, ",
                    _ => "",
                };
                string usual = key.Default.Length == 0 ? "required"
                    : key.Default == "\"\"" ? RigFileKey.None : key.Default;
                page.Append($"| `{key.Key}` | {key.Only} | {list}{key.Allowed()} | {usual} | {key.Meaning} |\n");
            }
        }

        return page.ToString();
    }
}
