using System.Text.RegularExpressions;
using Hourhinge.Firmware.Guards;
using Hourhinge.Firmware.Scpi;
using Hourhinge.Tests.Support;

namespace Hourhinge.Tests.Firmware.Logic.Protocol;

/// <summary>
/// PROTOCOL.md and the help query agree with the command sets' tables. With HOURHINGE_WRITE_DOCUMENTS=1 in the
/// environment the document is rewritten first.
/// </summary>
public partial class ProtocolDocumentTests
{
    public static TheoryData<string, string> Headers
    {
        get
        {
            TheoryData<string, string> data = new();
            foreach ((string header, string kind) in Answered())
            {
                data.Add(header, kind);
            }

            return data;
        }
    }

    [Fact]
    public void The_document_s_tables_are_those_of_the_command_sets()
    {
        string path = RepositoryFile.Path("firmware/PROTOCOL.md");
        string document = File.ReadAllText(path);
        string generated = ProtocolDocument.Generate(document, new Bench().Machine.Instrument.Sets);
        if (Environment.GetEnvironmentVariable("HOURHINGE_WRITE_DOCUMENTS") == "1")
        {
            File.WriteAllText(path, generated);
            document = generated;
        }

        Assert.True(document == generated,
            "firmware/PROTOCOL.md is out of date; run this test once with HOURHINGE_WRITE_DOCUMENTS=1");
    }

    [Fact]
    public void No_header_is_listed_twice()
    {
        string[] headers = [.. Answered().Select(h => h.Header)];
        Assert.True(headers.Length > 80, $"only {headers.Length}");
        Assert.Equal(headers.Distinct(), headers);
    }

    [Fact]
    public void Every_fault_has_a_text_of_its_own_and_stands_in_the_document()
    {
        string document = File.ReadAllText(RepositoryFile.Path("firmware/PROTOCOL.md"));
        int[] reasons = [.. ProtocolDocument.FaultReasons()];
        Assert.Equal(Enumerable.Range(0, 10), reasons);
        Assert.Equal(reasons.Length, reasons.Select(Fault.Text).Distinct().Count());
        Assert.All(reasons, reason =>
            Assert.Contains($"| {reason} | {Fault.Text(reason)} |", document, StringComparison.Ordinal));
    }

    // With the optional part and without, short and long: what the machine lists, it executes as the kind that it says.
    [Theory]
    [MemberData(nameof(Headers))]
    public void Every_header_is_known_in_every_form(string header, string kind)
    {
        string plain = header.TrimEnd('?');
        foreach (string form in new[] { Optional().Replace(plain, string.Empty),
            plain.Replace("[", string.Empty).Replace("]", string.Empty) })
        {
            foreach (string name in new[] { form, new string([.. form.Where(c => !char.IsLower(c))]) })
            {
                Assert.Equal(kind != "command", IsKnown(name + "?"));
                Assert.Equal(kind != "query", IsKnown(name));
            }
        }
    }

    [Fact]
    public void Every_error_number_in_use_is_in_the_document()
    {
        string document = File.ReadAllText(RepositoryFile.Path("firmware/PROTOCOL.md"));
        string[] sources =
        [
            .. Directory.EnumerateFiles(RepositoryFile.Path("firmware/logic"), "*.cs", SearchOption.AllDirectories)
                .Where(path => Path.GetFileName(path) != "ScpiErrors.cs")
                .Select(File.ReadAllText),
        ];
        int used = 0;
        foreach (System.Reflection.FieldInfo number in typeof(ScpiErrors).GetFields().Where(f => f.IsLiteral))
        {
            bool inUse = number.Name == nameof(ScpiErrors.QueueOverflow)
                || sources.Any(text => text.Contains("ScpiErrors." + number.Name, StringComparison.Ordinal));
            used += inUse ? 1 : 0;
            Assert.True(
                inUse == document.Contains($"| {number.GetRawConstantValue()} |", StringComparison.Ordinal),
                $"{number.Name} {number.GetRawConstantValue()}: in use {inUse}, but the document says otherwise");
        }

        Assert.True(used > 15);
    }

    private static bool IsKnown(string line)
    {
        Bench bench = Bench.WithProfile();
        bench.Tell(line);
        return !bench.Ask("SYST:ERR?").StartsWith("-113", StringComparison.Ordinal);
    }

    private static IEnumerable<(string Header, string Kind)> Answered()
    {
        string block = new Bench().Ask("SYST:HELP:HEAD?");
        string text = block[(2 + block[1] - '0')..];
        foreach (string line in text.Split('\n', StringSplitOptions.RemoveEmptyEntries))
        {
            string[] parts = line.Split('/');
            string kind = parts.Length == 1 ? "both" : parts[1] == "qonly" ? "query" : "command";
            yield return (parts[0], kind);
        }
    }

    [GeneratedRegex(@"\[[^\]]*\]")]
    private static partial Regex Optional();
}
