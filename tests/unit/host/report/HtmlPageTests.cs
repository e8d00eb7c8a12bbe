using System.Globalization;
using System.Text.RegularExpressions;
using Hourhinge.Report;
using Hourhinge.Report.Charts;
using Hourhinge.Tests.Host.App;

namespace Hourhinge.Tests.Host.Report;

/// <summary>The page as text: same content, same bytes; content stays content; charts put values where their ticks
/// are.</summary>
public partial class HtmlPageTests
{
    [Fact]
    public void The_same_content_gives_the_same_bytes() =>
        Assert.Equal(Pages.Sampler(true).ToHtml(), Pages.Sampler(true).ToHtml());

    [Fact]
    public void A_command_run_twice_writes_the_same_page_wherever_it_is_run()
    {
        string folder = Directory.CreateTempSubdirectory("hourhinge-twice-").FullName;
        string copy = Path.Combine(folder, "bent-m6-geared.toml");
        File.Copy(Tool.Example("bent-m6-geared"), copy);
        string[] pages = [.. new[] { Tool.Example("bent-m6-geared"), copy }.Select((rig, i) =>
        {
            string page = Path.Combine(folder, $"{i}.html");
            (int code, _, string error) = Tool.Run("profile", rig, "--html", page);
            Assert.True(code == 0, error);
            return File.ReadAllText(page);
        })];
        Assert.Equal(pages[0], pages[1]);
        Directory.Delete(folder, recursive: true);
    }

    [Fact]
    public void Content_is_escaped_and_nothing_points_outside()
    {
        string html = Pages.Sampler(false).ToHtml();
        Assert.Single(Regex.Matches(html, "<script>"));
        Assert.Single(Regex.Matches(html, "<style>"));
        Assert.Single(Regex.Matches(html, "<img "));
        Assert.DoesNotContain("http:", html, StringComparison.Ordinal);
        Assert.DoesNotContain("https:", html, StringComparison.Ordinal);
        Assert.DoesNotContain('\u0001', html);
        Assert.Contains("default-src &#39;none&#39;", html, StringComparison.Ordinal);
    }

    [Fact]
    public void A_curve_lies_where_its_ticks_say_and_keeps_its_extremes_when_thinned()
    {
        // A saw of 20000 points with one outlier, which a drawing of 864 px must not lose.
        double[] x = [.. Enumerable.Range(0, 20001).Select(i => i / 20.0)];
        double[] y = [.. x.Select((_, i) => i == 12345 ? 90.0 : i % 2 == 0 ? 0 : 10)];
        string html = Page(new Chart("Saw", "A saw.", new Axis("x"),
            new Axis("y") { From = 0, To = 100 })
        { Series = [new Series("saw", x, y)] });
        string svg =
            html[html.IndexOf("<svg class=\"wide\"", StringComparison.Ordinal)..html.IndexOf("</svg>",
                StringComparison.Ordinal)];
        double[] drawn =
            [.. CurveYs().Matches(LinePath().Matches(svg)[^1].Groups[1].Value).Select(m => Number(m.Groups[1].Value))];
        double TickY(string text) =>
            Number(Regex.Match(svg,
                $@"<path class=""grid"" d=""M[\d.]+ ([\d.]+)H[\d.]+""/><text[^>]*>{text}</text>").Groups[1].Value);
        Assert.InRange(drawn.Length, 800, 8000);
        Assert.Equal(TickY("0"), drawn.Max(), 0.11);
        Assert.Equal(TickY("0") + ((TickY("100") - TickY("0")) * 0.9), drawn.Min(), 0.11);
    }

    [Fact]
    public void Rounding_noise_is_not_drawn_as_a_finding()
    {
        string html = Page(new Chart("Flat", "Flat.", new Axis("x"),
            new Axis("y") { MinSpan = 2 })
        { Series = [new Series("flat", [0, 1, 2], [1e-12, -2e-12, 1e-12])] });
        double[] drawn =
            [.. CurveYs().Matches(LinePath().Matches(html)[1].Groups[1].Value).Select(m => Number(m.Groups[1].Value))];
        Assert.Equal(3, drawn.Length);
        Assert.Equal(drawn.Min(), drawn.Max());
    }

    [Fact]
    public void What_cannot_be_shown_is_refused_by_name()
    {
        Series one = new("one", [1, 2], [1, 2]);
        Axis axis = new("a");
        Assert.Contains("1 cells for 2 columns", Assert.Throws<ArgumentException>(() =>
            new DataTable("t", [Column.Text("a"), Column.Number("b")], [["x"]])).Message, StringComparison.Ordinal);
        Assert.Contains("5 series",
            Assert.Throws<ArgumentException>(() =>
                Page(new Chart("t", "d", axis, axis) { Series = [one, one, one, one, one] })).Message,
                StringComparison.Ordinal);
        Assert.Contains("2 x and 1 y",
            Assert.Throws<ArgumentException>(() =>
                Page(new Chart("t", "d", axis, axis) { Series = [one with { Y = [1] }] })).Message,
                StringComparison.Ordinal);
        Assert.Contains("image/svg+xml", Assert.Throws<ArgumentException>(() =>
            Page(new Photo("t", "d", "image/svg+xml", Array.Empty<byte>()))).Message, StringComparison.Ordinal);
    }

    [Fact]
    public void A_page_of_another_kind_is_refused_before_any_work()
    {
        (int code, _, string error) = Tool.Run("profile", Tool.Example("bent-m6-geared"), "--html", "page.pdf");
        Assert.Equal(2, code);
        Assert.Contains("--html page.pdf: the name must end with .html", error, StringComparison.Ordinal);
    }

    private static string Page(Section section) =>
        new HtmlPage("t", new AssessmentBanner(AssessmentKind.Finding, "v.")) { Source = "s", Sections = [section] }
        .ToHtml();

    private static double Number(string text) => double.Parse(text, CultureInfo.InvariantCulture);

    [GeneratedRegex(@"<path class=""line c1"" d=""([^""]+)""")]
    private static partial Regex LinePath();

    [GeneratedRegex(@"[ML][\d.]+ ([\d.]+)")]
    private static partial Regex CurveYs();
}
