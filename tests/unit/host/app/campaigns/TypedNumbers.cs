using System.Globalization;

namespace Hourhinge.Tests.Host.App.Campaigns;

/// <summary>What people type for a number, mutations of it, and a second reading of it that shares no code with the
/// program: letter by letter, in decimal arithmetic.</summary>
internal static class TypedNumbers
{
    /// <summary>Typed values: right, sloppy, foreign and wrong (common practice, no source).</summary>
    public static readonly string[] Dictionary =
    [
        "0", "1", "2", "5", "10", "30", "45", "60", "90", "120", "300", "1000", "-1", "-5", "-0", "+3", "1.5", "0.5",
        ".5", "5.", "-.5", "1,5", "0,5", "1,000", "1.000,5", "1,000.5", "1 000", "1'000", "1_000", "1e3", "1E3", "1e-3",
        "1e", "e3", "1e400", "-1e400", "1e-400", "NaN", "nan", "Infinity", "inf", "-inf", "∞", "0x10", "0b1",
        "1d", "1f",
        "1L", "10%", "10 %", "abc", "thirty", "one", "", " ", "  7  ", "30s", "30 s", "30sec", "30 seconds", "1.5min",
        "1.5 min", "90 m", "2h", "2 hours", "1h30m", "1:30", "00:30", "30\"", "30''", "5'", "5°", "5 deg", "12d",
        "-30°",
        "210mm", "210 mm", "21cm", "8 in", "8\"", "9 1/16 in", "9-1/16 in", "1/2 in", "1/2", "1/0 in", "½", "2½ in",
        "f/4", "F/4", "f4", "f/ 2.8", "1:2.8", "F2.8", "4", "x2", "2x", "2×", "5ppm", "5 ppm", "0.1%", "50um", "50µm",
        "50μm", "3e-", "e-", "21.5 mag", "21,5 mag", "22mag/arcsec2", "0.4", "40%", "1/3", "√2", "2^3", "2*3", "1+1",
        "1-1", "--5", "- 5", "−5", "–5", "１２", "٣", "1.2.3", "1..2", "1,2,3", "(5)", "5)", "~5", "about 5", "5?", "$5",
        "5€", "5;", "5\t", "\t5", "5\u00a0s", "\u001b[31m5", "5\u202e", "'5'", "\"5\"", "null", "true",
        "N/A", "30\u2032", "8\u2033", "\u22120.5", "9\u20131/16 in",
        "-", ".", ",", "+", "/", "1/", "/2", "999999999999999999999", "0.0000000001", "00012", "1.50", "4.0",
        "12 frames",
        "12frames", "3 turns", "12V", "12 volts", "15 arcmin", "15arcsec", "1 deg 30", "2 s s", "5ms", "5 MS", "5 Min",
    ];

    private const string Letters = "0123456789.,-+eE /'\"°%smhindu½²xf\u00a0";

    // Written down again from the units' definitions, not from the program's table: name, kind, size in the kind's
    // base.
    private static readonly (string Name, string Kind, decimal Numerator, decimal Denominator)[] _units =
    [
        ("s", "time", 1, 1), ("sec", "time", 1, 1), ("second", "time", 1, 1), ("seconds", "time", 1, 1),
        ("ms", "time", 1, 1000), ("us", "time", 1, 1000000), ("min", "time", 60, 1), ("minute", "time", 60, 1),
        ("minutes", "time", 60, 1), ("h", "time", 3600, 1), ("hour", "time", 3600, 1), ("hours", "time", 3600, 1),
        ("deg", "angle", 3600, 1), ("degree", "angle", 3600, 1), ("degrees", "angle", 3600, 1), ("°", "angle", 3600, 1),
        ("arcmin", "angle", 60, 1), ("'", "angle", 60, 1), ("arcsec", "angle", 1, 1), ("\"", "angle", 1, 1),
        ("mm", "length", 1, 1), ("cm", "length", 10, 1), ("um", "length", 1, 1000), ("µm", "length", 1, 1000),
        ("μm", "length", 1, 1000), ("in", "length", 254, 10), ("inch", "length", 254, 10),
        ("inches", "length", 254, 10), ("\"", "length", 254, 10), ("ppm", "ratio", 1, 1), ("%", "ratio", 10000, 1),
        ("percent", "ratio", 10000, 1), ("‰", "ratio", 1000, 1), ("share", "ratio", 1000000, 1),
        ("x", "times", 1, 1), ("times", "times", 1, 1), ("frames", "frames", 1, 1), ("frame", "frames", 1, 1),
        ("turns", "turns", 1, 1), ("turn", "turns", 1, 1), ("electrons", "electrons", 1, 1), ("e-", "electrons", 1, 1),
        ("mag", "mag", 1, 1), ("mag/arcsec²", "mag", 1, 1), ("mag/arcsec2", "mag", 1, 1), ("steps/s", "steps", 1, 1),
        ("mAh", "charge", 1, 1), ("Ah", "charge", 1000, 1), ("mA", "current", 1, 1), ("A", "current", 1000, 1),
        ("V", "V", 1, 1), ("volt", "V", 1, 1), ("volts", "V", 1, 1), ("mV", "V", 1, 1000),
    ];

    /// <summary>A number of ordinary size, with a unit half the time; most fit some option.</summary>
    public static string Plausible(Random random)
    {
        double size = Math.Pow(10, random.Next(-1, 4)) * random.NextDouble();
        string sign = random.Next(6) == 0 ? "-" : "";
        string number = random.Next(4) switch
        {
            0 => $"{(int)size}",
            1 => $"{size:0.##}",
            2 => $"{size:0.000E+0}",
            _ => $"{size:0.0}",
        };
        string unit = random.Next(2) == 0 ? "" : _units[random.Next(_units.Length)].Name;
        return sign + number + (random.Next(3) == 0 ? " " : "") + unit;
    }

    /// <summary>One to three changes of a letter, or two words joined.</summary>
    public static string Mutate(string text, Random random)
    {
        int changes = random.Next(4);
        for (int i = 0; i < changes; i++)
        {
            int at = random.Next(text.Length + 1);
            string letter = Letters[random.Next(Letters.Length)].ToString();
            text = random.Next(4) switch
            {
                0 => text.Insert(at, letter),
                1 when at < text.Length => text.Remove(at, 1),
                2 when at < text.Length => text[..at] + letter + text[(at + 1)..],
                3 => text + Dictionary[random.Next(Dictionary.Length)],
                _ => text,
            };
        }

        return text;
    }

    /// <summary>The value that a careful human reads, in <paramref name="unit"/>; null for anything doubtful.</summary>
    public static double? Read(string typed, string unit)
    {
        // A person reads the signs of a printed page as those of a keyboard.
        string text = string.Concat(typed.Trim().Select(c => c switch
        {
            '\u2212' or '\u2013' => '-',
            '\u2032' or '\u2019' => '\'',
            '\u2033' or '\u201D' => '"',
            _ => c,
        }));
        if (unit == "f/" && text.Length > 2 && text[0] is 'f' or 'F' && text[1] == '/')
        {
            text = text[2..].TrimStart();
        }

        int end = 0;
        while (end < text.Length && (text[end] is (>= '0' and <= '9') or '.' or '/'
            || (text[end] is '+' or '-' && (end == 0 || text[end - 1] is 'e' or 'E'))
            || (text[end] is 'e' or 'E' && end > 0 && end + 1 < text.Length
                && text[end + 1] is (>= '0' and <= '9') or '+' or '-' && HasDigitAfter(text, end + 1))
            || (text[end] is ' ' or '-' && IsFraction(text[(end + 1)..]))))
        {
            end++;
        }

        string number = text[..end];
        string name = text[end..].Trim();
        (decimal size, bool isInch)? factor = Factor(name, unit);
        if (factor is not { } f)
        {
            return null;
        }

        decimal? value = number.Contains('/', StringComparison.Ordinal)
            ? (f.isInch ? Fraction(number) : null)
            : Plain(number);
        return value is { } v ? (double)v * (double)f.size : null;
    }

    private static bool HasDigitAfter(string text, int at) =>
        text[at] is >= '0' and <= '9' || (at + 1 < text.Length && text[at + 1] is >= '0' and <= '9');

    // "1/16 in" and the like: digits, a stroke, digits.
    private static bool IsFraction(string rest)
    {
        string[] parts = rest.Split('/');
        return parts.Length == 2 && parts[0].Length > 0 && parts[0].All(char.IsAsciiDigit) && parts[1].Length > 0
            && char.IsAsciiDigit(parts[1][0]);
    }

    private static decimal? Plain(string number)
    {
        int digits = number.Count(char.IsAsciiDigit);
        string mantissa = number.Split('e', 'E')[0];
        return digits > 0 && mantissa.Any(char.IsAsciiDigit) && mantissa.Count(c => c == '.') <= 1
            && decimal.TryParse(number, NumberStyles.AllowLeadingSign | NumberStyles.AllowDecimalPoint
                | NumberStyles.AllowExponent, CultureInfo.InvariantCulture, out decimal value)
            ? value
            : null;
    }

    private static decimal? Fraction(string number)
    {
        decimal sign = number[0] == '-' ? -1 : 1;
        string[] parts = number.TrimStart('-', '+').Split(' ', '-');
        string[] halves = parts[^1].Split('/');
        if (parts.Length > 2 || halves.Length != 2 || !halves.All(h => h.Length > 0 && h.All(char.IsAsciiDigit))
            || (parts.Length == 2 && !(parts[0].Length > 0 && parts[0].All(char.IsAsciiDigit))))
        {
            return null;
        }

        decimal over = decimal.Parse(halves[1], CultureInfo.InvariantCulture);
        decimal integer = parts.Length == 2 ? decimal.Parse(parts[0], CultureInfo.InvariantCulture) : 0;
        return over == 0
            ? null
            : sign * (integer + (decimal.Parse(halves[0], CultureInfo.InvariantCulture) / over));
    }

    private static (decimal Size, bool IsInch)? Factor(string name, string unit)
    {
        if (name.Length == 0)
        {
            return (1, false);
        }

        // An option in per 1000 or S/N is listed under its own name; its base is itself.
        string own = unit switch
        {
            "per 1000" => "‰",
            "S/N" or "seed" or "f/" or "" or "port" => "",
            _ => unit,
        };
        foreach ((_, string kind, decimal top, decimal bottom) in _units.Where(u => u.Name == own))
        {
            foreach ((string n, _, decimal numerator, decimal denominator) in _units.Where(u => u.Kind == kind
                && string.Equals(u.Name, name, StringComparison.OrdinalIgnoreCase)))
            {
                return (numerator / denominator * bottom / top, n is "in" or "inch" or "inches" or "\"");
            }
        }

        return null;
    }
}
