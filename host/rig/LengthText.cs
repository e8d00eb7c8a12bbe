// Lengths as a maker writes them: "9 1/16 in", "230.2 mm", "9.0625 in", 9 1/16".

using System.Globalization;
using System.Text.RegularExpressions;

namespace Hourhinge.Rig;

/// <summary>Reads a length with its unit. An inch is exactly 25.4 mm.</summary>
public static partial class LengthText
{
    /// <summary>What a length in quotes may look like; for error messages.</summary>
    public const string Examples = "\"9 1/16 in\", \"9.0625 in\" or \"230.2 mm\"";

    private const decimal MmPerInch = 25.4m;

    /// <summary>The length in mm; null when the text is no length with a unit.</summary>
    public static double? ParseMm(string text) => Parse(text, hasUnit: true, isInch: false);

    /// <summary>The length in mm of a text whose unit may be missing; it is then mm, or inches.</summary>
    public static double? ParseMm(string text, bool isInch) => Parse(text, hasUnit: false, isInch);

    /// <summary>True when the text names its unit.</summary>
    public static bool HasUnit(string text) => Form().Match(text.Trim()).Groups["unit"].Length > 0;

    private static double? Parse(string text, bool hasUnit, bool isInch)
    {
        Match match = Form().Match(text.Trim());
        string unit = match.Groups["unit"].Value;
        if (!match.Success || (hasUnit && unit.Length == 0))
        {
            return null;
        }

        decimal value = Part(match, "number");
        if (match.Groups["over"].Success)
        {
            decimal under = Part(match, "under");
            if (under == 0)
            {
                return null;
            }

            // Multiplied first: 1/3 in is then rounded once.
            decimal numerator = (value * under) + Part(match, "over");
            value = match.Groups["number"].Value.Contains('.', StringComparison.Ordinal) ? -1 : numerator;
            return value < 0 ? null : Scaled(match, value, under, unit, isInch);
        }

        return Scaled(match, value, 1, unit, isInch);
    }

    private static double Scaled(Match match, decimal value, decimal divisor, string unit, bool isInch)
    {
        bool inches = unit.Length == 0 ? isInch : unit != "mm";
        decimal sign = match.Groups["sign"].Length > 0 ? -1 : 1;
        return (double)(sign * value * (inches ? MmPerInch : 1) / divisor);
    }

    private static decimal Part(Match match, string group) =>
        match.Groups[group] is { Length: > 0 } found
            ? decimal.Parse(found.Value, NumberStyles.AllowDecimalPoint, CultureInfo.InvariantCulture) : 0;

    // A number, a fraction, or both with a space or hyphen between them; at most nine digits each.
    [GeneratedRegex("""
        ^(?<sign>-?)
        (?: (?<number>[0-9]{1,9}(?:\.[0-9]{0,9})?)
            (?: (?:\ +|-) (?<over>[0-9]{1,9})/(?<under>[0-9]{1,9}) )?
          | (?<over>[0-9]{1,9})/(?<under>[0-9]{1,9}) )
        \ *(?<unit>mm|in|inch|inches|"|″)?$
        """, RegexOptions.IgnorePatternWhitespace)]
    private static partial Regex Form();
}
