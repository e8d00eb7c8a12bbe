// Measurements typed by a maker: a CSV file with named columns, read strictly, every fault told with its place.

using System.Globalization;
using Hourhinge.Rig;

namespace Hourhinge.Calibration.Readings;

/// <summary>What is wrong with a file of measurements, in one sentence.</summary>
public sealed class MeasurementException : Exception
{
    /// <summary>A fault of the file as a whole, or of what was measured.</summary>
    public MeasurementException(string message)
        : base(message)
    {
    }
}

/// <summary>A column: name with unit, range.</summary>
public sealed record MeasurementColumn(string Name, double Min, double Max, string Unit);

/// <summary>
/// A table of numbers. First line: column names. "#" begins a comment, blank lines are skipped. Comma between columns
/// and decimal point, or semicolon and decimal comma, as spreadsheets of many countries write.
/// </summary>
public sealed class MeasurementTable
{
    /// <summary>Most readings in a file.</summary>
    public const int MaxRows = 10000;

    private readonly string _file;
    private readonly string[] _names;
    private readonly List<(int Line, double[] Values)> _rows = [];

    private MeasurementTable(string file, string[] names)
    {
        _file = file;
        _names = names;
    }

    /// <summary>Rows: the line in the file, counted from 1, and the numbers in the order of the columns asked
    /// for.</summary>
    public IReadOnlyList<(int Line, double[] Values)> Rows => _rows;

    /// <summary>Column names of a file's first line, to find out what kind of table it is.</summary>
    public static string[] ColumnsOf(string file, string text) =>
        Lines(text).Select(l => Split(l.Text)).FirstOrDefault()
            ?? throw new MeasurementException($"{file}: the file has no readings.");

    /// <summary>Reads a table that must have exactly these columns, in any order.</summary>
    public static MeasurementTable Parse(string file, string text, IReadOnlyList<MeasurementColumn> columns)
    {
        string[] names = ColumnsOf(file, text);
        string wanted = string.Join(", ", columns.Select(c => c.Name));
        int headLine = Lines(text).First().Line;
        string? unknown = names.FirstOrDefault(n => columns.All(c => c.Name != n));
        string? missing = columns.Select(c => c.Name).FirstOrDefault(n => !names.Contains(n));
        if (unknown != null || missing != null || names.Length != columns.Count)
        {
            string what = unknown != null ? $"column \"{unknown}\" is unknown" : missing != null
                ? $"column \"{missing}\" is missing" : "a column is there twice";
            throw new MeasurementException(
                $"{file}:{headLine}: {what}; the first line must name the columns {wanted}.");
        }

        var table = new MeasurementTable(file, names);
        char separator = Separator(text);
        foreach ((int line, string row) in Lines(text).Skip(1))
        {
            table.ReadRow(line, row, columns, separator);
        }

        return table._rows.Count is > 0 and <= MaxRows
            ? table
            : throw new MeasurementException(
                $"{file}: the file has {table._rows.Count} readings; it must have 1 to {MaxRows}.");
    }

    /// <summary>A fault at a reading.</summary>
    public MeasurementException Wrong(int line, string column, double value, string what) =>
        new($"{_file}:{line}: column {Array.IndexOf(_names, column) + 1}, {column} = "
            + $"{value.ToString(CultureInfo.InvariantCulture)}: {what}.");

    private void ReadRow(int line, string row, IReadOnlyList<MeasurementColumn> columns, char separator)
    {
        string[] cells = row.Split(separator);
        if (cells.Length != _names.Length)
        {
            throw new MeasurementException(
                $"{_file}:{line}: {cells.Length} value(s), but the first line names {_names.Length} columns: "
                + $"{string.Join(", ", _names)}."
                + (separator == ',' && cells.Length > _names.Length
                    ? " A comma ends a column: write decimals with a point, or put semicolons between columns." : ""));
        }

        double[] values = new double[columns.Count];
        for (int i = 0; i < columns.Count; i++)
        {
            MeasurementColumn column = columns[i];
            int at = Array.IndexOf(_names, column.Name);
            string cell = Unquoted(cells[at]);
            string number = separator == ';' ? WithPoint(cell) : cell;
            string range = $"{column.Min} to {column.Max} {column.Unit}"
                .TrimEnd();
            if (!QuantityParser.TryParse(number, column.Unit, out values[i], out string problem))
            {
                throw new MeasurementException(
                    $"{_file}:{line}: column {at + 1}, {column.Name} = {cell}: {problem}, {range}.");
            }

            if (!(values[i] >= column.Min && values[i] <= column.Max))
            {
                throw new MeasurementException(
                    $"{_file}:{line}: column {at + 1}, {column.Name} = {cell}: must be {range}.");
            }
        }

        _rows.Add((line, values));
    }

    // Between semicolons one comma is a decimal comma; a cell with a point as well is left for the parser to reject.
    private static string WithPoint(string cell) =>
        cell.Contains('.', StringComparison.Ordinal) || cell.Count(c => c == ',') != 1 ? cell : cell.Replace(',', '.');

    private static IEnumerable<(int Line, string Text)> Lines(string text) =>
        text.TrimStart('\uFEFF').Split('\n')
            .Select((l, i) => (Line: i + 1, Text: l.Split('#')[0].Trim()))
            .Where(l => l.Text.Length > 0);

    private static char Separator(string text) => Lines(text).First().Text.Contains(';', StringComparison.Ordinal)
        ? ';'
        : ',';

    private static string[] Split(string head) =>
        [.. head.Split(head.Contains(';', StringComparison.Ordinal) ? ';' : ',').Select(Unquoted)];

    // Spreadsheets put text cells in quotes (RFC 4180).
    private static string Unquoted(string cell)
    {
        string text = cell.Trim();
        return text.Length > 1 && text[0] == '"' && text[^1] == '"' ? text[1..^1].Trim() : text;
    }
}
