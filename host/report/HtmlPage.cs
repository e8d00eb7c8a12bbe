// One report page: a title, the assessment, sections, the source. This file writes the frame of the page and its
// content security policy. Sections: Sections.cs; charts: chart/; style and script: page.css, page.js.

using System.Reflection;
using System.Security.Cryptography;
using System.Text;

namespace Hourhinge.Report;

/// <summary>How the assessment is marked. The sentence says it too; the bar beside it is an addition.</summary>
public enum AssessmentKind
{
    /// <summary>A finding, neither good nor bad.</summary>
    Finding,

    /// <summary>The answer is yes.</summary>
    Good,

    /// <summary>The answer is no.</summary>
    NotGood,
}

/// <summary>The main result in one sentence. The sentence itself must say good or not good.</summary>
public sealed record AssessmentBanner(AssessmentKind Kind, string Sentence);

/// <summary>
/// A self-contained HTML page. The same content gives the same bytes: no time is written unless the content has
/// one. All text is escaped; a content security policy forbids every request and every script but page.js.
/// Immutable.
/// </summary>
public sealed record HtmlPage(string Title, AssessmentBanner Assessment)
{
    private static readonly string _style = Resource("page.css");
    private static readonly string _script = Resource("page.js");

    /// <summary>The sections below the assessment, in reading order.</summary>
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
        html.Element("p", Assessment.Sentence, ("class", $"assessment {CssClass(Assessment.Kind)}")).Raw("\n");
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

    // CSP 3, section 2.3.1: the digest of the exact text between the tags.
    private static string Hash(string text) =>
        "sha256-" + Convert.ToBase64String(SHA256.HashData(Encoding.UTF8.GetBytes(text)));

    private static string Resource(string name)
    {
        using Stream stream = Assembly.GetExecutingAssembly().GetManifestResourceStream(name)!;
        using var reader = new StreamReader(stream, Encoding.UTF8);
        return reader.ReadToEnd().ReplaceLineEndings("\n");
    }
}
