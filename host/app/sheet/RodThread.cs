using System.Globalization;
using System.Text.RegularExpressions;

namespace Hourhinge.App.Sheet;

/// <summary>Diameters of a rod's thread, mm.</summary>
/// <param name="OuterMm">Nominal diameter.</param>
/// <param name="CoreMm">Minor diameter.</param>
internal sealed partial record RodThread(double OuterMm, double CoreMm)
{
    /// <summary>The diameters of a designation of ISO 261 or ASME B1.1; null for another text.</summary>
    /// <remarks>Minor diameter d₃ = d − 1.22687·p: ISO 724 and ISO 68-1, external thread; the inch thread has the same
    /// basic profile. Number sizes: 0.060 in + 0.013 in for each number, ASME B1.1.</remarks>
    public static RodThread? Of(string designation, double pitchMm)
    {
        Match match = Pattern().Match(designation.Trim());
        double outer = !match.Success ? double.NaN
            : match.Groups["metric"].Success ? Number(match.Groups["metric"].Value)
            : match.Groups["over"].Success
            ? 25.4 * Number(match.Groups["part"].Value) / Number(match.Groups["over"].Value)
            : 25.4 * (0.060 + (0.013 * Number(match.Groups["size"].Value)));
        return double.IsNaN(outer) ? null : Nominal(outer, pitchMm);
    }

    /// <summary>The diameters of a rod whose nominal diameter was measured.</summary>
    public static RodThread Nominal(double outerMm, double pitchMm) => new(outerMm, outerMm - (1.22687 * pitchMm));

    private static double Number(string text) => double.Parse(text, CultureInfo.InvariantCulture);

    [GeneratedRegex("""
        ^(?:[mM]\s*(?<metric>[0-9.]+) | (?<part>\d+)/(?<over>\d+) | \#?(?<size>\d+))
        (?:\s*["']?\s*[xX×-].* | \D*)$
        """, RegexOptions.IgnorePatternWhitespace)]
    private static partial Regex Pattern();
}
