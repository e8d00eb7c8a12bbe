// The tables of firmware/PROTOCOL.md, generated from the command sets' own tables.

using System.Text;
using System.Text.RegularExpressions;
using Hourhinge.Firmware.Guards;
using Hourhinge.Firmware.Protocol;

namespace Hourhinge.Tests.Firmware.Logic.Protocol;

/// <summary>
/// Replaces what stands between a line <c>&lt;!-- begin NAME --&gt;</c> and the next <c>&lt;!-- end --&gt;</c>. NAME
/// is a command set's class, or Faults.
/// </summary>
internal static partial class ProtocolDocument
{
    /// <summary>The document with every table generated anew.</summary>
    public static string Generate(string document, CommandSet[] sets)
    {
        HashSet<string> written = [];
        string result = Section().Replace(document, match =>
        {
            string name = match.Groups[1].Value;
            Assert.True(written.Add(name), $"table {name} stands twice in the document");
            return $"<!-- begin {name} -->\n{Table(name, sets)}<!-- end -->";
        });
        foreach (CommandSet set in sets)
        {
            Assert.True(written.Contains(set.GetType().Name), $"no table {set.GetType().Name} in the document");
        }

        return result;
    }

    private static string Table(string name, CommandSet[] sets)
    {
        StringBuilder text = new();
        if (name == nameof(Fault) + "s")
        {
            text.Append("| fault | text |\n|---|---|\n");
            foreach (int reason in FaultReasons())
            {
                text.Append($"| {reason} | {Fault.Text(reason)} |\n");
            }

            return text.ToString();
        }

        CommandSet set = Assert.Single(sets, s => s.GetType().Name == name);
        text.Append("| header | kind | parameter | answer or effect |\n|---|---|---|---|\n");
        foreach (CommandRow row in set.Rows)
        {
            text.Append(row.DocumentLine).Append('\n');
        }

        return text.ToString();
    }

    /// <summary>Every reason that <see cref="Fault"/> declares, in order.</summary>
    public static IEnumerable<int> FaultReasons() =>
        typeof(Fault).GetFields().Where(f => f.IsLiteral).Select(f => (int)f.GetRawConstantValue()!).Order();

    [GeneratedRegex(@"<!-- begin (\w+) -->\n.*?<!-- end -->", RegexOptions.Singleline)]
    private static partial Regex Section();
}
