// How names of targets are compared: what people type against what the tables hold.
using System.Text.RegularExpressions;
using F23.StringSimilarity;

namespace Hourhinge.Sky.Planning;

/// <summary>Comparison of target names.</summary>
internal static partial class TargetName
{
    private static readonly OptimalStringAlignment _edits = new();

    private static readonly string[] _greek =
    [
        "alpha", "beta", "gamma", "delta", "epsilon", "zeta", "eta", "theta", "iota", "kappa", "lambda", "mu", "nu",
        "xi", "omicron", "pi", "rho", "sigma", "sigma", "tau", "upsilon", "phi", "chi", "psi", "omega",
    ];

    /// <summary>Capital letters and digits only; Greek letters spelt out; "Messier" as M; no leading zeros in
    /// numbers.</summary>
    public static string Key(string text)
    {
        string spelt = string.Concat(text.Select(c => c is >= '\u03b1' and <= '\u03c9'
            ? _greek[c - '\u03b1'] : c.ToString()));
        string key = new([.. spelt.Where(char.IsLetterOrDigit).Select(char.ToUpperInvariant)]);
        Match number = Numbered().Match(key);
        return !number.Success ? key
            : (number.Groups[1].Value == "MESSIER" ? "M" : number.Groups[1].Value) + number.Groups[2].Value;
    }

    /// <summary>The key of a Bayer designation without the number of a component ("alpha1 Cen"); empty for
    /// others.</summary>
    public static string WithoutComponent(string designation)
    {
        int digit = designation.AsSpan().IndexOfAnyInRange('0', '9');
        return digit > 0 ? Key(designation.Remove(digit, 1)) : "";
    }

    /// <summary>Whether a key is a catalogue and a number.</summary>
    public static bool IsNumber(string key) => Numbered().IsMatch(key);

    /// <summary>Insertions, deletions, replacements and swaps of neighbours that turn one key into the other (optimal
    /// string alignment); very large where the digits differ, because another number is another object.</summary>
    public static int Distance(string a, string b) =>
        a.Where(char.IsDigit).SequenceEqual(b.Where(char.IsDigit)) ? (int)_edits.Distance(a, b) : int.MaxValue;

    [GeneratedRegex("^(MESSIER|M|NGC|IC)0*([0-9]+)$")]
    private static partial Regex Numbered();
}
