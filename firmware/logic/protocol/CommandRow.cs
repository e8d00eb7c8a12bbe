// One row of the protocol's table. PROTOCOL.md and the answer to SYSTem:HELP:HEADers? are generated from these rows.

using Hourhinge.Firmware.Scpi;

namespace Hourhinge.Firmware.Protocol;

/// <summary>
/// A header with its kind, its parameters, its effect and the number under which its command set executes it. A row
/// with a numeric range is also what the parameter is checked against (see CommandSet.TryParse).
/// </summary>
public sealed class CommandRow
{
    /// <summary>Kinds: only a command, only a query, or both.</summary>
    public const int Command = 1, Query = 2, Both = 3;

    private readonly int _kind;

    /// <summary>A header whose parameters are described in words.</summary>
    /// <param name="header">As SCPI-1999 writes it, without the question mark: ":STATus:OPERation[:EVENt]".</param>
    /// <param name="kind"><see cref="Command"/>, <see cref="Query"/> or <see cref="Both"/>.</param>
    /// <param name="handler">What the command set switches on.</param>
    /// <param name="parameters">The command's parameters, for the document; empty when it has none.</param>
    /// <param name="effect">Answer or effect, for the document.</param>
    public CommandRow(string header, int kind, int handler, string parameters, string effect)
    {
        Header = header;
        _kind = kind;
        Handler = handler;
#if !NANOFRAMEWORK
        _parameters = parameters;
        Effect = effect;
#endif
    }

    /// <summary>A header with one numeric parameter, in units of 10^-scale; its unit is what follows " in " in its
    /// name.</summary>
    public CommandRow(string header, int kind, int handler, string name, int scale, long min, long max, long initial,
        string effect)
        : this(header, kind, handler, new NumberRange(name, UnitIn(name), scale, min, max, initial), effect)
    {
    }

    /// <summary>A header with this numeric parameter.</summary>
    public CommandRow(string header, int kind, int handler, NumberRange range, string effect)
        : this(header, kind, handler, (string)null, effect)
    {
        Range = range;
    }

    /// <summary>The header, short form in capitals, optional nodes in brackets, without a question mark.</summary>
    public string Header { get; }

    /// <summary>What the command set switches on.</summary>
    public int Handler { get; }

    /// <summary>The numeric parameter; null for a row without one.</summary>
    public NumberRange Range { get; }

    /// <summary>The row's line in the answer to SYSTem:HELP:HEADers? (SCPI-1999 volume 2, 21.6).</summary>
    public string HelpLine =>
        Header + (_kind == Query ? "?/qonly/\n" : _kind == Command ? "/nquery/\n" : "\n");

    /// <summary>True when the row exists as a query (or as a command).</summary>
    public bool Allows(bool isQuery) => (_kind & (isQuery ? Query : Command)) != 0;

    private static string UnitIn(string name)
    {
        int at = name.IndexOf(" in ");
        return at < 0 ? string.Empty : name.Substring(at + 4);
    }

#if !NANOFRAMEWORK
    private readonly string _parameters;

    /// <summary>Answer or effect in words. The controller does not keep it: only the document needs it.</summary>
    public string Effect { get; }

    /// <summary>The parameters in words.</summary>
    public string Parameters => Range == null ? _parameters
        : Range.IsBoolean ? Range.Name + ", `ON` or `OFF`, default " + Limit(Range.Default)
        : Range.Name + ", " + Limit(Range.Min) + " to " + Limit(Range.Max)
            + (Range.Name.Contains(" in ") || Range.Unit.Length == 0 ? string.Empty : " " + Range.Unit)
            + ", default " + Limit(Range.Default);

    /// <summary>The row as a row of the document's tables.</summary>
    public string DocumentLine => "| `" + Header + (_kind == Query ? "?` | query" : _kind == Command
        ? "` | command"
        : "` | both") + " | " + Parameters + " | " + Effect + " |";

    private string Limit(long value)
    {
        string text = DecimalText.Format(value, Range.Scale);
        return Range.Scale == 0 ? text : text.TrimEnd('0').TrimEnd('.');
    }
#endif
}
