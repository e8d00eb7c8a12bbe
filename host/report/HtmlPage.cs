// One report page: a title, the verdict, sections, the source. Lives here: the page's frame and its policy of touching
// no network. Not here: the sections (Sections.cs), the charts (chart/), the look (page.css, page.js).

using System.Reflection;
using System.Security.Cryptography;
using System.Text;

namespace Hourhinge.Report;

/// <summary>How a verdict is marked, in words as well as by the bar beside it.</summary>
public enum AssessmentKind
{
    /// <summary>A finding, neither good nor bad.</summary>
    Finding,

    /// <summary>The answer is yes.</summary>
    Good,

    /// <summary>The answer is no.</summary>
    NotGood,
}

/// <summary>The one sentence that the reader came for. The sentence itself must say good or not good.</summary>
public sealed record AssessmentBanner(AssessmentKind Kind, string Sentence);

/// <summary>
/// A self-contained HTML page. Given the same content it gives the same bytes: there is no time in it unless the
/// content has one. All text is escaped; a content security policy forbids every request and every script but ours.
/// Immutable.
/// </summary>
public sealed record HtmlPage(string Title, AssessmentBanner Verdict)
{
    private static readonly string _style = Resource("page.css");
    private static readonly string _script = Resource("page.js");

    /// <summary>What follows the verdict, in reading order.</summary>
    public required IReadOnlyList<Section> Sections { get; init; }

    /// <summary>The last line: made by which command, from which file, with which digest.</summary>
    public required string Source { get; init; }

    /// <summary>Whether the page opens red on black. Its switch changes that for the view only.</summary>
    public bool Night { get; init; }

    /// <summary>The style sheet of every page.</summary>
    public static string Style => _style;

    /// <summary>The whole document, UTF-8 text with line feeds.</summary>
    public string ToHtml()
    {
        var html = new HtmlText();
        string policy = $"default-src 'none'; img-src data:; style-src '{Hash(_style)}'; script-src '{Hash(_script)}'";
        html.Raw("<!DOCTYPE html>\n");
        html.Open("html", ("lang", "en"), ("data-theme", Night ? "night" : "day"));
        html.Raw("\n<head>\n<meta charset=\"utf-8\">\n");
        html.Open("meta", ("http-equiv", "Content-Security-Policy"), ("content", policy));
        html.Raw("\n<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n");
        html.Element("title", Title).Raw("\n<link rel=\"icon\" href=\"data:,\">\n");
        html.Raw("<style>").Raw(_style).Raw("</style>\n</head>\n<body>\n<header>\n");
        html.Element("h1", Title);
        html.Raw("\n<button id=\"night\" type=\"button\" hidden")
            .Raw($" aria-pressed=\"{(Night ? "true" : "false")}\"");
        html.Raw(">Night red</button>\n</header>\n<main>\n");
        html.Element("p", Verdict.Sentence, ("class", $"verdict {CssClass(Verdict.Kind)}")).Raw("\n");
        for (int i = 0; i < Sections.Count; i++)
        {
            Sections[i].Write(html, $"s{i + 1}");
        }

        html.Raw("</main>\n<footer>").Element("p", Source).Raw("</footer>\n");
        html.Raw("<script>").Raw(_script).Raw("</script>\n</body>\n</html>\n");
        return html.ToString();
    }

    private static string CssClass(AssessmentKind kind) => kind switch
    {
        AssessmentKind.Good => "good",
        AssessmentKind.NotGood => "not-good",
        _ => "finding",
    };

    // CSP 3, section 2.3.1: the digest of exactly what stands between the tags.
    private static string Hash(string text) =>
        "sha256-" + Convert.ToBase64String(SHA256.HashData(Encoding.UTF8.GetBytes(text)));

    private static string Resource(string name)
    {
        using Stream stream = Assembly.GetExecutingAssembly().GetManifestResourceStream(name)!;
        using var reader = new StreamReader(stream, Encoding.UTF8);
        return reader.ReadToEnd().ReplaceLineEndings("\n");
    }
}
