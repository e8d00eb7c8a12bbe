// An answer as a person types it, to the TOML text of its key.

using System.Globalization;
using Hourhinge.Rig;
using Hourhinge.SharedMath.Geometry;

namespace Hourhinge.App.Common.Asking;

/// <summary>Converts typed answers. A wrong answer is an <see cref="InputException"/> that says what is
/// allowed.</summary>
internal static class TypedAnswer
{
    /// <summary>The TOML text of an answer; what was typed is kept. Bare lengths are mm, or inches.</summary>
    public static string ToToml(RigFileKey key, string typed, bool isInch) => key.Kind switch
    {
        KeyKind.Word => key.Words.FirstOrDefault(w => w == typed) is { } word ? $"\"{word}\"" : throw Wrong(key),
        KeyKind.Flag => Flag(typed),
        KeyKind.Text => Text(key, typed),
        KeyKind.Pairs => Pairs(key, typed),
        KeyKind.Numbers => $"[{string.Join(", ", Split(typed).Select(t => Number(key, t)))}]",
        _ => key.Unit == "mm" ? Length(key, typed, isInch) : Number(key, typed),
    };

    /// <summary>A length as TOML: a bare number of mm as a number, everything else as text with its unit.</summary>
    public static string Length(RigFileKey key, string typed, bool isInch)
    {
        string full = isInch && !HasUnit(typed) ? typed + " in" : typed;
        if (!QuantityParser.TryParse(full, "mm", out double mm, out string problem))
        {
            throw new InputException($"'{typed}': {problem}.");
        }

        if (!(mm >= key.Min && mm <= key.Max))
        {
            throw new InputException($"that is {mm:0.####} mm; it must be {key.Allowed()}.");
        }

        return !HasUnit(full) ? Plain(mm) : full.Contains('"', StringComparison.Ordinal) ? $"'{full}'" : $"\"{full}\"";
    }

    /// <summary>True when something other than a digit ends the text.</summary>
    public static bool HasUnit(string typed) =>
        typed.Length > 0 && !char.IsAsciiDigit(typed[^1]) && typed[^1] != '.';

    private static string Number(RigFileKey key, string typed)
    {
        if (!double.TryParse(typed, NumberStyles.AllowLeadingSign | NumberStyles.AllowDecimalPoint,
            CultureInfo.InvariantCulture, out double number))
        {
            throw new InputException($"'{typed}' is not a number. Write it with a decimal point, without a unit.");
        }

        bool isInteger = number == Math.Floor(number);
        if (!(number >= key.Min && number <= key.Max) || (key.Kind == KeyKind.IntegerNumber && !isInteger))
        {
            throw Wrong(key);
        }

        return Plain(number);
    }

    private static string Flag(string typed) => typed.ToLowerInvariant() switch
    {
        "y" or "yes" => "true",
        "n" or "no" => "false",
        _ => throw new InputException("answer yes or no."),
    };

    private static string Text(RigFileKey key, string typed)
    {
        if (typed.Any(c => c is '"' or '\\' || char.IsControl(c)) || typed.Length > 60)
        {
            throw new InputException("write at most 60 characters, without quotes and backslashes.");
        }

        if (key.Key == "time_zone" && typed.Length > 0 && SiteClock.Check(typed) is { } error)
        {
            throw new InputException($"'{typed}' {error}.");
        }

        if (key is { Table: "", Key: "name" } && (typed.Length is 0 or > 31 || typed.Any(c => c is < ' ' or > '~')))
        {
            throw new InputException("the name must have 1 to 31 printable ASCII characters without quotes.");
        }

        if (key.Key == "thread" && ThreadTable.PitchMm(typed) == 0)
        {
            throw new InputException($"no such thread is in the tables; known are {ThreadTable.KnownDesignations()}; "
                + "or write a measured pitch such as 1.0008 mm.");
        }

        return $"\"{typed}\"";
    }

    private static string Pairs(RigFileKey key, string typed)
    {
        if (typed == "none")
        {
            return "[]";
        }

        var pairs = new List<string>();
        foreach (string part in typed.Split([',', ';'], StringSplitOptions.TrimEntries))
        {
            string[] numbers = part.Split([':', '/', ' '],
                StringSplitOptions.RemoveEmptyEntries | StringSplitOptions.TrimEntries);
            if (numbers.Length != 2)
            {
                throw new InputException($"'{part}' is not a pair. Write two numbers with a colon between, such as "
                    + $"{(key.Key == "speed_curve" ? "50:7.0" : "60:20")}.");
            }

            pairs.Add($"[{Number(key, numbers[0])}, {Number(key, numbers[1])}]");
        }

        return $"[{string.Join(", ", pairs)}]";
    }

    private static string[] Split(string typed) =>
        typed.Split([',', ' '], StringSplitOptions.RemoveEmptyEntries | StringSplitOptions.TrimEntries);

    private static string Plain(double number) => number.ToString("0.#########", CultureInfo.InvariantCulture);

    private static InputException Wrong(RigFileKey key) => new($"it must be {key.Allowed()}.");
}
