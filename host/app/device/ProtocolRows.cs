// The firmware's own table of commands, for options: name, unit and range of a number come from its row.

using System.CommandLine;
using Hourhinge.App.Common;
using Hourhinge.Firmware.Protocol;
using Hourhinge.Firmware.Scpi;

namespace Hourhinge.App.Device;

internal static class ProtocolRows
{
    // Only their tables are read, so they need no controller.
    private static readonly CommandSet[] _sets =
    [
        new MotionCommands(null), new ProfileCommands(null, null), new ShutterCommands(null, null, null),
        new SupplyCommands(null, null), new BoardCommands(null, null, null, null),
    ];

    /// <summary>The numeric parameter of a header as the table writes it, such as ":SHUTter:GAP".</summary>
    public static NumberRange RangeOf(string header) => _sets.SelectMany(s => s.Rows)
        .First(r => r.Header == header).Range;

    /// <summary>What the table says about a header.</summary>
    public static string EffectOf(string header) => _sets.SelectMany(s => s.Rows).First(r => r.Header == header).Effect;
}

/// <summary>An option for one numeric parameter of the protocol.</summary>
internal sealed class RowOption
{
    private readonly NumberRange _range;

    /// <summary>An option for the parameter of a header.</summary>
    public RowOption(string name, string header)
        : this(name, ProtocolRows.RangeOf(header), ProtocolRows.EffectOf(header))
    {
        Header = header[1..];
    }

    /// <summary>An option for a parameter.</summary>
    public RowOption(string name, NumberRange range, string what)
    {
        _range = range;
        string unit = range.Unit switch
        {
            "seconds" => "s",
            "arcseconds" => "arcsec",
            _ => range.Unit,
        };
        if (range.IsBoolean)
        {
            Switch = new Option<string?>(name) { Description = $"{Sentence(what)} (on or off).", HelpName = "on|off" };
            Switch.AcceptOnlyFromAmong("on", "off");
        }
        else
        {
            double scale = Math.Pow(10, range.Scale);
            Number = Quantity.Optional(name, range.Min / scale, range.Max / scale, unit, Sentence(what));
        }
    }

    /// <summary>The header without its first colon; empty when the option is only part of a command.</summary>
    public string Header { get; } = "";

    /// <summary>The option, to be added to a command.</summary>
    public Option Option => (Option?)Switch ?? Number!;

    private Option<string?>? Switch { get; }

    private Option<double?>? Number { get; }

    /// <summary>What was typed, as the protocol's decimal text; null when nothing was.</summary>
    public string? Read(ParseResult parsed)
    {
        if (Switch != null)
        {
            return parsed.GetValue(Switch)?.ToUpperInvariant();
        }

        if (parsed.GetValue(Number!) is not { } value)
        {
            return null;
        }

        double scaled = value * Math.Pow(10, _range.Scale);
        return _range.Scale > 0 || scaled == Math.Floor(scaled)
            ? DecimalText.Format((long)Math.Round(scaled), _range.Scale)
            : throw new InputException(
                $"{Number!.Name} {value}: must be a whole number, {_range.Min} to {_range.Max}.");
    }

    private static string Sentence(string text)
    {
        string first = text.Split(". ")[0].Replace("`", "", StringComparison.Ordinal);
        return char.ToUpperInvariant(first[0]) + first[1..];
    }
}
