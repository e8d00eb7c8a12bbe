using System.Text.RegularExpressions;
using Hourhinge.Tests.Support;

namespace Hourhinge.Tests.Firmware.Logic.Protocol;

/// <summary>Each row of PROTOCOL.md's conformance table says yes exactly when the controller executes it.</summary>
public partial class ConformanceTests
{
    // IEEE 488.2-1992, table 4-1, and SCPI-1999 volume 1, 4.2.1: from memory.
    private static readonly string[] _mandatory =
    [
        "*CLS", "*ESE", "*ESE?", "*ESR?", "*IDN?", "*OPC", "*OPC?", "*RST", "*SRE", "*SRE?", "*STB?", "*TST?", "*WAI",
        "SYSTem:ERRor[:NEXT]?", "SYSTem:VERSion?", "STATus:OPERation[:EVENt]?", "STATus:OPERation:CONDition?",
        "STATus:OPERation:ENABle", "STATus:OPERation:ENABle?", "STATus:QUEStionable[:EVENt]?",
        "STATus:QUEStionable:CONDition?", "STATus:QUEStionable:ENABle", "STATus:QUEStionable:ENABle?", "STATus:PRESet",
    ];

    [Fact]
    public void Every_mandatory_header_stands_in_the_table_and_is_executed()
    {
        string document = File.ReadAllText(RepositoryFile.Path("firmware/PROTOCOL.md"));
        string table = document[document.IndexOf("## Conformance", StringComparison.Ordinal)..];
        string[] rows = [.. Row().Matches(table).SelectMany(m => Header().Matches(m.Groups[1].Value))
            .Select(m => m.Groups[1].Value)];
        Assert.Equal(_mandatory, rows);
        foreach (string header in rows)
        {
            Bench bench = Bench.WithProfile();
            string line = header.Replace("[:NEXT]", string.Empty).Replace("[:EVENt]", string.Empty);
            bool takesMask = header is "*ESE" or "*SRE" || header.EndsWith("ENABle", StringComparison.Ordinal);
            string answer = bench.Ask(takesMask ? line + " 0" : line);
            Assert.True(header.EndsWith('?') == (answer.Length > 0), header + " answered: " + answer);
            bench.AssertNoError();
        }
    }

    [GeneratedRegex(@"\| (`.*`) \| yes \|")]
    private static partial Regex Row();

    [GeneratedRegex(@"`([^`]+)`")]
    private static partial Regex Header();
}
