// One table of a rig file, read strictly: each value has a line and a column, each unknown key is an error.
// Ranges and defaults come from RigKeys; what the keys mean together is RigReader's.

using System.Diagnostics.CodeAnalysis;
using System.Text.RegularExpressions;
using Tomlyn.Parsing;
using Tomlyn.Syntax;

namespace Hourhinge.Rig;

/// <summary>A table's keys and values with line and column, and typed readers that check ranges.</summary>
public sealed partial class TomlSection
{
    private const int MaxTextLength = 200;

    private readonly Dictionary<string, (ValueSyntax Value, TextPosition At)> _values = [];
    private readonly HashSet<string> _read = [];
    private readonly string _file;
    private readonly string _text;
    private readonly string _table;
    private readonly IReadOnlyList<RigFileKey> _keys;
    private readonly string _prefix;
    private readonly TextPosition _at;

    private TomlSection(
        string file, string text, string table, TextPosition at, bool isPresent, IReadOnlyList<RigFileKey> keys)
    {
        _keys = keys;
        _file = file;
        _text = text;
        _table = table;
        string name = NameOf(table);
        _prefix = name.Length == 0 ? string.Empty : name + ".";
        _at = at;
        IsPresent = isPresent;
    }

    /// <summary>False for a table that the file does not have.</summary>
    public bool IsPresent { get; }

    /// <summary>
    /// Splits a file into its tables by name ("" is the top); arrays of tables keep their order under "name[]".
    /// Only the tables of <paramref name="keys"/> are allowed.
    /// </summary>
    public static Func<string, IReadOnlyList<TomlSection>> Parse(
        string file, string text, IReadOnlyList<RigFileKey> keys)
    {
        // The parser counts its places without a byte order mark.
        text = text.TrimStart('\uFEFF');
        string[] allowed = [.. keys.Select(k => k.Table).Distinct()];
        DocumentSyntax document = ParseDocument(file, text);

        var sections = new Dictionary<string, List<TomlSection>>();
        var top = new TomlSection(file, text, string.Empty, new TextPosition(0, 0, 0), true, keys);
        top.ReadItems(document.KeyValues);
        sections[string.Empty] = [top];
        foreach (TableSyntaxBase table in document.Tables)
        {
            string name = KeyText(table.Name);
            bool many = table is TableArraySyntax;
            string label = many ? name + "[]" : name;
            TextPosition at = table.Span.Start;
            if (!allowed.Contains(label))
            {
                string known = string.Join(", ",
                    allowed.Where(a => a.Length > 0).Select(a => $"[{NameOf(a)}]"));
                throw Error(file, at, $"table [{name}] is unknown; known are {known}.");
            }

            if (!many && sections.ContainsKey(label))
            {
                throw Error(file, at, $"table [{name}] is there twice.");
            }

            var section = new TomlSection(file, text, label, at, true, keys);
            section.ReadItems(table.Items);
            (sections.TryGetValue(label, out List<TomlSection>? list) ? list : sections[label] = []).Add(section);
        }

        return label => sections.TryGetValue(label, out List<TomlSection>? list)
            ? list
            : label.EndsWith("[]", StringComparison.Ordinal)
            ? []
            : [new TomlSection(file, text, label, document.Span.Start, false, keys)];
    }

    private static DocumentSyntax ParseDocument(string file, string text)
    {
        DocumentSyntax document;
        try
        {
            document = SyntaxParser.Parse(text, file);
        }
        catch (Exception e) when (e is not OutOfMemoryException)
        {
            // The parser's own limit of nesting is an exception; whatever else it stumbles over is no rig file either.
            throw new RigFileException(e.Message.Contains("maximum depth", StringComparison.Ordinal)
                ? $"{file}: not TOML that a rig file holds: nested more than 64 deep."
                : $"{file}: not TOML: {e.Message.Split('\n')[0].TrimEnd('.')}.");
        }

        foreach (DiagnosticMessage message in document.Diagnostics)
        {
            if (message.Kind == DiagnosticMessageKind.Error)
            {
                TextPosition at = message.Span.Start;
                string line = text.Split('\n').ElementAtOrDefault(at.Line) ?? "";
                throw Error(file, at, WhatToWrite(line, at.Column)
                    ?? $"not TOML: {message.Message.TrimEnd('.')}.");
            }
        }

        return document;
    }

    // The usual slips, in our words; null for another.
    private static string? WhatToWrite(string line, int column)
    {
        if (DecimalComma().Match(line) is { Success: true } comma)
        {
            return $"{comma.Groups[1].Value}: write decimals with a point, not a comma.";
        }

        if (NumberWithUnit().Match(line) is { Success: true } quantity)
        {
            string typed = quantity.Groups[1].Value;
            return $"{typed}: a number with a unit stands in quotes: \"{typed}\".";
        }

        char found = line.ElementAtOrDefault(column);
        return found switch
        {
            '\u201C' or '\u201D' or '\u201E' or '\u201F' or '\u2018' or '\u2019' or '\u00AB' or '\u00BB' =>
                $"{found} is a typographic quote; write the plain \".",
            '\u2212' or '\u2013' or '\u2014' => $"{found} is a typographic minus sign or dash; write the plain -.",
            '\u00A0' or '\u2009' or '\u202F' or '\u200B' or '\uFEFF' =>
                $"a special space (U+{(int)found:X4}) stands here; write a plain space.",
            _ => null,
        };
    }

    /// <summary>True when the key is there; asking does not count as reading.</summary>
    public bool Has(string key) => _values.ContainsKey(key);

    /// <summary>A number within its key's range.</summary>
    /// <param name="key">The key.</param>
    /// <param name="max">A maximum that depends on other keys; null: the key's own.</param>
    /// <param name="absent">A default that depends on other keys; null: the key's own.</param>
    public double ReadNumber(string key, double? max = null, double? absent = null)
    {
        RigFileKey row = Row(key);
        string allowed = row.Allowed(max);
        double initial = absent ?? row.DefaultNumber;
        if (!Find(key, !double.IsNaN(initial), allowed, out ValueSyntax? value))
        {
            return initial;
        }

        double number = value switch
        {
            FloatValueSyntax f => f.Value,
            IntegerValueSyntax i => i.Value,
            StringValueSyntax text => Quantity(key, row, text),
            _ => throw ErrorAt(key, $"must be a number, {allowed}"),
        };
        return number >= row.Min && number <= (max ?? row.Max) ? number : throw ErrorAt(key, $"must be {allowed}");
    }

    /// <summary>An integer within its key's range; parameters as <see cref="ReadNumber"/>.</summary>
    public int ReadInteger(string key, int? max = null, int? absent = null)
    {
        double number = ReadNumber(key, max, absent);
        return number == Math.Floor(number)
            ? (int)number
            : throw ErrorAt(key, $"must be a whole number, {Row(key).Allowed(max)}");
    }

    /// <summary>True or false.</summary>
    public bool ReadFlag(string key)
    {
        RigFileKey row = Row(key);
        if (!Find(key, true, row.Allowed(), out ValueSyntax? value))
        {
            return row.Default == "true";
        }

        return value is BooleanValueSyntax b ? b.Value : throw ErrorAt(key, $"must be {row.Allowed()}");
    }

    /// <summary>Text; for a choice, one of its words.</summary>
    public string ReadText(string key)
    {
        RigFileKey row = Row(key);
        if (!Find(key, row.Default.Length > 0, row.Allowed(), out ValueSyntax? value))
        {
            return row.Default.Trim('"');
        }

        string? text = (value as StringValueSyntax)?.Value;
        if (text != null && row.Kind == KeyKind.Text && (text.Length > MaxTextLength || text.Any(char.IsControl)))
        {
            throw ErrorAt(key, $"must be one line of at most {MaxTextLength} characters, without control characters");
        }

        return text != null && (row.Kind == KeyKind.Text || row.Words.Contains(text))
            ? text
            : throw ErrorAt(key, $"must be {row.Allowed()}");
    }

    /// <summary>A list of numbers within the key's range; empty when absent.</summary>
    public double[] ReadNumbers(string key) =>
        Find(key, true, "a list", out ValueSyntax? value) ? ReadList(key, value) : [];

    /// <summary>A list of pairs of numbers within the key's range; empty when absent.</summary>
    public double[][] ReadPairs(string key)
    {
        if (!Find(key, true, "a list of pairs", out ValueSyntax? value))
        {
            return [];
        }

        if (value is not ArraySyntax array)
        {
            throw ErrorAt(key, "must be a list of pairs such as [[60, 20], [32, 9]]");
        }

        double[][] rows = [.. array.Items.Select(item => ReadList(key, item.Value!))];
        return rows.All(r => r.Length == 2) ? rows : throw ErrorAt(key, "every entry must be a pair of two numbers");
    }

    /// <summary>An error at a key (or at the table, when the key is absent).</summary>
    public RigFileException ErrorAt(string key, string what) =>
        _values.TryGetValue(key, out (ValueSyntax Value, TextPosition At) found)
            ? Error(_file, found.At, $"{_prefix}{key} = {Raw(found.Value)}: {what}.")
            : Error(_file, _at, $"{_prefix}{key}: {what}.");

    /// <summary>Rejects keys that have not been read: a misspelt key must not be ignored.</summary>
    public void RejectUnread()
    {
        string[] known = [.. _keys.Where(k => k.Table == _table).Select(k => k.Key)];
        string? unread = _values.Keys.FirstOrDefault(key => !_read.Contains(key));
        if (unread != null)
        {
            throw ErrorAt(unread, "this key " + (known.Contains(unread)
                ? "does not belong to this kind of rig"
                : $"is unknown; this table knows {string.Join(", ", known)}"));
        }
    }

    private RigFileKey Row(string key) => _keys.First(k => k.Table == _table && k.Key == key);

    private static string NameOf(string table) => table.Replace("[]", "", StringComparison.Ordinal);

    private void ReadItems(SyntaxList<KeyValueSyntax> items)
    {
        foreach (KeyValueSyntax item in items)
        {
            string key = KeyText(item.Key);
            TextPosition at = item.Key!.Span.Start;
            if (!_values.TryAdd(key, (item.Value!, at)))
            {
                throw Error(_file, at, $"{_prefix}{key} is there twice.");
            }
        }
    }

    private bool Find(string key, bool optional, string allowed, [NotNullWhen(true)] out ValueSyntax? value)
    {
        _read.Add(key);
        if (_values.TryGetValue(key, out (ValueSyntax Value, TextPosition At) found))
        {
            value = found.Value;
            return true;
        }

        value = null;
        if (optional)
        {
            return false;
        }

        // Perhaps the key is there under another spelling.
        (string? stranger, TextPosition place) = _values.Where(v => Unknown(v.Key))
            .Select(v => ((string?)v.Key, v.Value.At)).FirstOrDefault();
        throw Error(_file, _at, $"{_prefix}{key} is missing: {allowed}"
            + (stranger == null ? "." : $"; {stranger} in line {place.Line + 1} is no key of this table."));
    }

    private bool Unknown(string key) => !_keys.Any(k => k.Table == _table && k.Key == key);

    private double[] ReadList(string key, ValueSyntax list)
    {
        RigFileKey row = Row(key);
        if (list is not ArraySyntax array)
        {
            throw ErrorAt(key, "must be a list in square brackets such as [60, 20] or [[60, 20], [32, 9]]");
        }

        string raw = Raw(list);
        if (DigitsAroundComma().Match(raw) is { Success: true } doubtful && CommaAndSpace().IsMatch(raw))
        {
            throw ErrorAt(key, $"{doubtful.Value} may be one number or two: write decimals with a point, and a space "
                + "behind every comma between numbers");
        }

        return [.. array.Items.Select(item => item.Value switch
        {
            FloatValueSyntax f when f.Value >= row.Min && f.Value <= row.Max => f.Value,
            IntegerValueSyntax i when i.Value >= row.Min && i.Value <= row.Max => i.Value,
            StringValueSyntax s when Quantity(key, row, s) is var q && q >= row.Min && q <= row.Max => q,
            _ => throw ErrorAt(key, $"every number must be {row.Allowed()}"),
        })];
    }

    // A number in quotes: with a unit, or with a comma that is then refused.
    private double Quantity(string key, RigFileKey row, StringValueSyntax text) =>
        QuantityParser.TryParse(text.Value ?? "", row.Unit, out double value, out string problem)
            ? value
            : throw ErrorAt(key, $"{problem}, {row.Allowed()}");

    private static RigFileException Error(string file, TextPosition at, string what) =>
        new(file, at.Line + 1, at.Column + 1, what);

    private static string KeyText(KeySyntax? key) => key!.ToString().Trim();

    // As the file has it, without the comment behind it.
    private string Raw(ValueSyntax value) =>
        _text.Substring(value.Span.Offset, Math.Min(value.Span.Length, _text.Length - value.Span.Offset)).Trim();

    // "85,5, 50": commas with and without a space in one list.
    [GeneratedRegex("[0-9]+,[0-9]+")]
    private static partial Regex DigitsAroundComma();

    [GeneratedRegex(@"[0-9],\s+[-+0-9.]")]
    private static partial Regex CommaAndSpace();

    // "290.3 mm" without quotes; "1e3" and "0x1F" are numbers.
    [GeneratedRegex(@"^\s*[\w.-]+\s*=\s*([-+]?[0-9]+\.?[0-9]*(?:\s+[0-9]+/[0-9]+)?(?:\s+|(?=[mcui°µ']))"
        + @"[a-zµ°'/]{1,9})\s*(?:#.*)?$")]
    private static partial Regex NumberWithUnit();

    [GeneratedRegex(@"^\s*[\w.-]+\s*=\s*([-+]?[0-9]+,[0-9]+)")]
    private static partial Regex DecimalComma();
}
