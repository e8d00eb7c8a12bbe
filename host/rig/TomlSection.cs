// One table of a TOML file, read strictly: every value with its place, every key that nobody asked for an error.
// It knows TOML and ranges; what the keys mean is RigReader's.

using System.Globalization;
using Tomlyn.Parsing;
using Tomlyn.Syntax;

namespace Hourhinge.Rig;

/// <summary>A table's keys and values with line and column, and typed readers that check ranges.</summary>
public sealed class TomlSection
{
    private readonly Dictionary<string, (ValueSyntax Value, TextPosition At)> _values = [];
    private readonly HashSet<string> _read = [];
    private readonly string _file;
    private readonly string _text;
    private readonly string _prefix;
    private readonly TextPosition _at;

    private TomlSection(string file, string text, string name, TextPosition at, bool isPresent)
    {
        _file = file;
        _text = text;
        _prefix = name.Length == 0 ? string.Empty : name + ".";
        _at = at;
        IsPresent = isPresent;
    }

    /// <summary>False for a table that the file does not have.</summary>
    public bool IsPresent { get; }

    /// <summary>
    /// Splits a file into its tables by name ("" is the top); arrays of tables keep their order under "name[]".
    /// Only the table names given are allowed.
    /// </summary>
    public static Func<string, IReadOnlyList<TomlSection>> Parse(string file, string text,
        IReadOnlyCollection<string> allowed)
    {
        DocumentSyntax document = SyntaxParser.Parse(text, file);
        foreach (DiagnosticMessage message in document.Diagnostics)
        {
            if (message.Kind == DiagnosticMessageKind.Error)
            {
                throw Error(file, message.Span.Start, $"not TOML: {message.Message.TrimEnd('.')}.");
            }
        }

        var sections = new Dictionary<string, List<TomlSection>>();
        var top = new TomlSection(file, text, string.Empty, new TextPosition(0, 0, 0), true);
        top.Take(document.KeyValues);
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
                    allowed.Where(a => a.Length > 0).Select(a => $"[{a.Replace("[]", "", StringComparison.Ordinal)}]"));
                throw Error(file, at, $"table [{name}] is unknown; known are {known}.");
            }

            if (!many && sections.ContainsKey(label))
            {
                throw Error(file, at, $"table [{name}] is there twice.");
            }

            var section = new TomlSection(file, text, name, at, true);
            section.Take(table.Items);
            (sections.TryGetValue(label, out List<TomlSection>? list) ? list : sections[label] = []).Add(section);
        }

        return label => sections.TryGetValue(label, out List<TomlSection>? list)
            ? list
            : label.EndsWith("[]", StringComparison.Ordinal)
            ? []
            : [new TomlSection(file, text, label, document.Span.Start, false)];
    }

    /// <summary>True when the key is there; asking does not count as reading.</summary>
    public bool Has(string key) => _values.ContainsKey(key);

    /// <summary>A number within a range, in the unit that the key's name ends with.</summary>
    public double Number(string key, double least, double most, string unit, double? absent = null)
    {
        if (!Find(key, absent != null, $"{Show(least)} to {Show(most)} {unit}".TrimEnd(), out ValueSyntax? value,
            out TextPosition at))
        {
            return absent!.Value;
        }

        double number = value switch
        {
            FloatValueSyntax f => f.Value,
            IntegerValueSyntax i => i.Value,
            _ => throw Error(_file, at,
                $"{_prefix}{key} = {Raw(value)}: must be a number, {Show(least)} to {Show(most)} {unit}".TrimEnd()
                + "."),
        };
        if (!(number >= least && number <= most))
        {
            throw Error(_file, at,
                $"{_prefix}{key} = {Raw(value)}: must be {Show(least)} to {Show(most)} {unit}".TrimEnd() + ".");
        }

        return number;
    }

    /// <summary>A whole number within a range.</summary>
    public int Whole(string key, int least, int most, string unit, int? absent = null)
    {
        double number = Number(key, least, most, unit, absent);
        return number == Math.Floor(number)
            ? (int)number
            : throw Wrong(key, $"must be a whole number, {least} to {most} {unit}".TrimEnd());
    }

    /// <summary>True or false.</summary>
    public bool Flag(string key, bool absent)
    {
        if (!Find(key, true, "true or false", out ValueSyntax? value, out TextPosition at))
        {
            return absent;
        }

        return value is BooleanValueSyntax b
            ? b.Value
            : throw Error(_file, at, $"{_prefix}{key} = {Raw(value)}: must be true or false.");
    }

    /// <summary>Text; with choices, one of them.</summary>
    public string Text(string key, string[] choices, string? absent = null)
    {
        string wanted = choices.Length == 0
            ? "text in quotes"
            : "one of " + string.Join(", ", choices.Select(c => $"\"{c}\""));
        if (!Find(key, absent != null, wanted, out ValueSyntax? value, out TextPosition at))
        {
            return absent!;
        }

        string? text = (value as StringValueSyntax)?.Value;
        return text != null && (choices.Length == 0 || choices.Contains(text))
            ? text
            : throw Error(_file, at, $"{_prefix}{key} = {Raw(value)}: must be {wanted}.");
    }

    /// <summary>A list of numbers within a range; empty when absent.</summary>
    public double[] Numbers(string key, double least, double most, string unit) =>
        Find(key, true, "a list", out ValueSyntax? value, out TextPosition at)
            ? Row(key, value, value, at, least, most, unit)
            : [];

    /// <summary>A list of pairs of numbers within a range; empty when absent.</summary>
    public double[][] Pairs(string key, double least, double most, string unit)
    {
        if (!Find(key, true, "a list of pairs", out ValueSyntax? value, out TextPosition at))
        {
            return [];
        }

        if (value is not ArraySyntax array)
        {
            throw Error(_file, at,
                $"{_prefix}{key} = {Raw(value)}: must be a list of pairs such as [[60, 20], [32, 9]].");
        }

        double[][] rows = [.. array.Items.Select(item => Row(key, item.Value!, value, at, least, most, unit))];
        return rows.All(r => r.Length == 2)
            ? rows
            : throw Error(_file, at, $"{_prefix}{key} = {Raw(value)}: every entry must be a pair of two numbers.");
    }

    /// <summary>An error at a key (or at the table, when the key is absent).</summary>
    public RigFileException Wrong(string key, string what) =>
        _values.TryGetValue(key, out (ValueSyntax Value, TextPosition At) found)
            ? Error(_file, found.At, $"{_prefix}{key} = {Raw(found.Value)}: {what}.")
            : Error(_file, _at, $"{_prefix}{key}: {what}.");

    /// <summary>Refuses keys that nobody has read: a misspelt key must not be ignored.</summary>
    public void RefuseUnread(string[] known)
    {
        foreach ((string key, (ValueSyntax value, TextPosition at)) in _values)
        {
            if (!_read.Contains(key))
            {
                bool misplaced = known.Contains(key);
                string hint = misplaced
                    ? "does not belong to this kind of rig"
                    : $"is unknown; this table knows {string.Join(", ", known)}";
                throw Error(_file, at, $"{_prefix}{key} = {Raw(value)}: this key {hint}.");
            }
        }
    }

    private void Take(SyntaxList<KeyValueSyntax> items)
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

    private bool Find(
        string key,
        bool optional,
        string wanted,
        [System.Diagnostics.CodeAnalysis.NotNullWhen(true)] out ValueSyntax? value,
        out TextPosition at)
    {
        _read.Add(key);
        if (_values.TryGetValue(key, out (ValueSyntax Value, TextPosition At) found))
        {
            (value, at) = found;
            return true;
        }

        (value, at) = (null, default);
        return optional ? false : throw Error(_file, _at, $"{_prefix}{key} is missing: {wanted}.");
    }

    private double[] Row(string key, ValueSyntax value, ValueSyntax whole, TextPosition at, double least, double most,
        string unit)
    {
        if (value is not ArraySyntax array)
        {
            throw Error(_file, at,
                $"{_prefix}{key} = {Raw(whole)}: must be a list in square brackets such as [60, 20] or [[60, 20], "
                + "[32, 9]].");
        }

        return [.. array.Items.Select(item => item.Value switch
        {
            FloatValueSyntax f when f.Value >= least && f.Value <= most => f.Value,
            IntegerValueSyntax i when i.Value >= least && i.Value <= most => i.Value,
            _ => throw Error(_file, at,
                $"{_prefix}{key} = {Raw(whole)}: every number must be {Show(least)} to {Show(most)} {unit}".TrimEnd()
                + "."),
        })];
    }

    private static RigFileException Error(string file, TextPosition at, string what) =>
        new(file, at.Line + 1, at.Column + 1, what);

    private static string KeyText(KeySyntax? key) => key!.ToString().Trim();

    // As the file has it, without the comment behind it.
    private string Raw(ValueSyntax value) =>
        _text.Substring(value.Span.Offset, Math.Min(value.Span.Length, _text.Length - value.Span.Offset)).Trim();

    private static string Show(double number) => number.ToString("0.######", CultureInfo.InvariantCulture);
}
