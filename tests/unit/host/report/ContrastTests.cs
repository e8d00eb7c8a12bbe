using System.Text.RegularExpressions;
using Hourhinge.Report;

namespace Hourhinge.Tests.Host.Report;

/// <summary>
/// Every ink of the page's style against every ground it may lie on, charts included (axe does not judge SVG). Formula
/// and limits: WCAG 2.2, "contrast ratio", "relative luminance", success criteria 1.4.3 and 1.4.11.
/// </summary>
public partial class ContrastTests
{
    [Fact]
    public void The_formula_gives_the_ends_of_its_scale()
    {
        Assert.Equal(21, Contrast("#ffffff", "#000000"), 6);
        Assert.Equal(1, Contrast("#123456", "#123456"), 6);
        // Pure red on black: (0.2126 + 0.05) / 0.05, by the coefficients of the standard.
        Assert.Equal(5.252, Contrast("#ff0000", "#000000"), 6);
    }

    [Theory]
    [InlineData("day", 0)]
    [InlineData("night", 1)]
    [InlineData("paper", 2)]
    public void Words_have_four_and_a_half_to_one_and_lines_three_to_one(string theme, int block)
    {
        Dictionary<string, string> colour = Theme(block);
        foreach (string ground in new[] { "paper", "band" })
        {
            // Words never lie on a band: a chart's texts stand outside its frame.
            foreach (string ink in ground == "band" ? Array.Empty<string>() : ["ink", "soft"])
            {
                Assert.True(Contrast(colour[ink], colour[ground]) >= 4.5,
                    $"{theme}: {ink} on {ground}: {Contrast(colour[ink], colour[ground]):F2}");
            }

            foreach (string line in new[] { "line-1", "line-2", "line-3", "line-4", "axis", "good", "bad", "focus" })
            {
                Assert.True(Contrast(colour[line], colour[ground]) >= 3,
                    $"{theme}: {line} on {ground}: {Contrast(colour[line], colour[ground]):F2}");
            }
        }
    }

    [Fact]
    public void Night_inks_are_red_alone() => Assert.All(Theme(1).Values, c => Assert.EndsWith("0000", c));

    private static Dictionary<string, string> Theme(int block)
    {
        Match rules = Blocks().Matches(HtmlPage.Style)[block];
        return Variables().Matches(rules.Value).ToDictionary(m => m.Groups[1].Value, m => m.Groups[2].Value);
    }

    private static double Contrast(string a, string b)
    {
        (double light, double dark) = (Math.Max(Luminance(a), Luminance(b)), Math.Min(Luminance(a), Luminance(b)));
        return (light + 0.05) / (dark + 0.05);
    }

    private static double Luminance(string hex) =>
        (0.2126 * Linear(hex, 1)) + (0.7152 * Linear(hex, 3)) + (0.0722 * Linear(hex, 5));

    private static double Linear(string hex, int at)
    {
        double c = Convert.ToInt32(hex.Substring(at, 2), 16) / 255.0;
        return c <= 0.04045 ? c / 12.92 : Math.Pow((c + 0.055) / 1.055, 2.4);
    }

    [GeneratedRegex(@":root[^{]*\{[^}]*--paper[^}]*\}")]
    private static partial Regex Blocks();

    [GeneratedRegex(@"--([a-z0-9-]+): (#[0-9a-f]{6});")]
    private static partial Regex Variables();
}
