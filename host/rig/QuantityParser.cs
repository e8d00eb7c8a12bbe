// The one parser of numbers that people type: option values, strings in a rig file, cells of a CSV file.
// Here: the number's grammar and units of the same kind. Not here: ranges.

using System.Globalization;
using System.Text.RegularExpressions;

namespace Hourhinge.Rig;

/// <summary>Parses a number with an optional unit. Decimals have a point; a comma is never guessed at.</summary>
public static partial class QuantityParser
{
    // For each unit of ours: the spellings that are accepted, and how many of ours one of them is. The factors are
    // exact by definition (SI; ISO 80000-3 for angles; the international inch of 25.4 mm).
    private static readonly Dictionary<string, Dictionary<string, double>> _units = new(StringComparer.Ordinal)
    {
        ["s"] = Spellings("s sec second seconds:1 ms:0.001 us:1/1000000 min minute minutes:60 h hour hours:3600"),
        ["ms"] = Spellings("ms:1 us:0.001 s sec second seconds:1000 min minute minutes:60000 h hour hours:3600000"),
        ["min"] = Spellings("min minute minutes:1 s sec second seconds:1/60 ms:1/60000 us:1/60000000 h hour hours:60"),
        ["h"] = Spellings(
            "h hour hours:1 min minute minutes:1/60 s sec second seconds:1/3600 ms:1/3600000 us:1/3600000000"),
        ["deg"] = Spellings("deg degree degrees °:1 arcmin ':1/60 arcsec \":1/3600"),
        ["arcmin"] = Spellings("arcmin ':1 deg degree degrees °:60 arcsec \":1/60"),
        ["arcsec"] = Spellings("arcsec \":1 arcmin ':60 deg degree degrees °:3600"),
        ["mm"] = Spellings("mm:1 cm:10 um µm μm:0.001 in inch inches \":25.4"),
        ["um"] = Spellings("um µm μm:1 mm:1000 cm:10000 in inch inches \":25400"),
        ["m"] = Spellings("m:1 km:1000 ft:0.3048"),
        ["ppm"] = Spellings("ppm:1 % percent:10000 ‰:1000 share:1000000"),
        ["%"] = Spellings("% percent:1 ppm:1/10000 ‰:1/10 share:100"),
        ["V"] = Spellings("V volt volts:1 mV:0.001"),
        ["mAh"] = Spellings("mAh:1 Ah:1000"),
        ["mA"] = Spellings("mA:1 A:1000"),
        ["MPa"] = Spellings("MPa N/mm²:1 GPa:1000"),
        ["GPa"] = Spellings("GPa:1 MPa:1/1000"),
        ["times"] = Spellings("times x:1"),
        ["share"] = Spellings("share:1 % percent:1/100 ppm:1/1000000 ‰:1/1000"),
        ["per 1000"] = Spellings("‰:1 % percent:10 ppm:1/1000 share:1000"),
        ["steps/s"] = Spellings("steps/s:1"),
        ["turns"] = Spellings("turns turn:1"),
        ["frames"] = Spellings("frames frame:1"),
        ["electrons"] = Spellings("electrons e-:1"),
        ["mag/arcsec²"] = Spellings("mag mag/arcsec² mag/arcsec2:1"),
    };

    /// <summary>Parses <paramref name="text"/> as a quantity in <paramref name="unit"/>.</summary>
    /// <param name="text">What was typed, such as "30", "30s", "1.5 min", "f/4" or, for lengths, "9 1/16 in".</param>
    /// <param name="unit">The unit of the result, as a range names it; words after its first comma are ignored.</param>
    /// <param name="value">The value in that unit; not-a-number on failure.</param>
    /// <param name="problem">What is wrong, as the end of a sentence after the value and a colon; empty on
    /// success.</param>
    public static bool TryParse(string text, string unit, out double value, out string problem)
    {
        value = double.NaN;
        string typed = Plain(text).Trim();
        Dictionary<string, double> spellings = SpellingsOf(unit);
        if (unit == "f/" && typed.StartsWith("f/", StringComparison.OrdinalIgnoreCase))
        {
            typed = typed[2..].TrimStart();
        }

        problem = Comma(typed);
        if (problem.Length > 0)
        {
            return false;
        }

        Match match = NumberAndUnit().Match(typed);
        if (!match.Success)
        {
            return Fail("must be a number", out problem);
        }

        string suffix = match.Groups["unit"].Value;
        double factor = 1;
        if (suffix.Length > 0 && !spellings.TryGetValue(suffix, out factor))
        {
            return Fail(spellings.Count == 0
                ? "must be a number without a unit"
                : $"must be a number (its unit may be {string.Join(", ",
                    spellings.GroupBy(s => s.Value).Select(same => same.First().Key))})", out problem);
        }

        if (match.Groups["over"].Success)
        {
            double over = Read(match.Groups["over"].Value);
            if (!spellings.TryGetValue("inch", out double inch) || factor != inch || over == 0)
            {
                return Fail("must be a number with a point; fractions are for inches, such as \"9 1/16 in\"",
                    out problem);
            }

            double sign = match.Groups["sign"].Value == "-" ? -1 : 1;
            double integer = match.Groups["integer"].Success ? Read(match.Groups["integer"].Value) : 0;
            value = sign * (integer + (Read(match.Groups["part"].Value) / over)) * factor;
        }
        else
        {
            double number = Read(match.Groups["number"].Value);
            value = factor < 0 ? number / -factor : number * factor;
        }

        if (double.IsFinite(value))
        {
            return true;
        }

        value = double.NaN;
        return Fail("must be a number of ordinary size", out problem);
    }

    // What word processors and web pages put in place of the signs of a keyboard; each can mean one thing only.
    private static string Plain(string text) => text
        .Replace('\u2212', '-').Replace('\u2013', '-')
        .Replace('\u2032', '\'').Replace('\u2019', '\'')
        .Replace('\u2033', '"').Replace('\u201D', '"');

    private static bool Fail(string what, out string problem)
    {
        problem = what;
        return false;
    }

    // A decimal comma or a thousands separator: which of the two, only the writer knows.
    private static string Comma(string typed)
    {
        Match match = DigitsAroundComma().Match(typed);
        return match.Success
            ? $"write decimals with a point, not a comma (such as {match.Groups[1].Value}.{match.Groups[2].Value})"
            : "";
    }

    private static double Read(string number) => double.Parse(number, NumberStyles.Float, CultureInfo.InvariantCulture);

    private static Dictionary<string, double> SpellingsOf(string unit)
    {
        string first = unit.Split(',')[0].Trim();
        string own = first switch
        {
            "degrees" => "deg",
            "micrometres" => "um",
            "hours" => "h",
            "minutes" => "min",
            "seconds" => "s",
            "arcseconds" => "arcsec",
            _ => first,
        };
        return _units.TryGetValue(own, out Dictionary<string, double>? found) ? found : [];
    }

    // "name name:factor name:factor"; a factor 1/n is stored as -n, so that it divides exactly.
    private static Dictionary<string, double> Spellings(string text)
    {
        var all = new Dictionary<string, double>(StringComparer.OrdinalIgnoreCase);
        var waiting = new List<string>();
        foreach (string word in text.Split(' '))
        {
            int colon = word.LastIndexOf(':');
            waiting.Add(colon < 0 ? word : word[..colon]);
            if (colon < 0)
            {
                continue;
            }

            string factor = word[(colon + 1)..];
            foreach (string name in waiting)
            {
                all[name] = factor.StartsWith("1/", StringComparison.Ordinal) ? -Read(factor[2..]) : Read(factor);
            }

            waiting.Clear();
        }

        return all;
    }

    [GeneratedRegex("""
        ^(?:
          (?<number>[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?)
          | (?<sign>[+-]?)(?:(?<integer>[0-9]+)[ -])?(?<part>[0-9]+)/(?<over>[0-9]+)
        )\s*(?<unit>[^\s0-9.+/][^\s.+]*)?$
        """, RegexOptions.IgnorePatternWhitespace | RegexOptions.CultureInvariant)]
    private static partial Regex NumberAndUnit();

    [GeneratedRegex("^[+-]?([0-9]+),([0-9]+)")]
    private static partial Regex DigitsAroundComma();
}
