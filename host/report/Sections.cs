// The parts of a page: facts, tables, photographs, notes, cautions. Charts are sections too: chart/Chart.cs.
// A section writes text and markup; colours and widths are in page.css.

namespace Hourhinge.Report;

/// <summary>A part of a page with its heading.</summary>
public abstract record Section(string Title)
{
    /// <summary>One or two sentences below the heading; empty for none.</summary>
    public string Lead { get; init; } = "";

    /// <summary>What follows heading and lead. Ids begin with <paramref name="id"/>.</summary>
    internal abstract void WriteBody(HtmlText html, string id);

    /// <summary>CSS classes of the section; "whole" is not split between sheets of paper.</summary>
    private protected virtual string Kind => "part";

    /// <summary>Tables of up to this many rows are not split between sheets of paper.</summary>
    private protected const int UnbrokenRows = 15;

    internal void Write(HtmlText html, string id)
    {
        html.Open("section", ("class", Kind)).Raw("\n");
        html.Element("h2", Title, ("id", id)).Raw("\n");
        if (Lead.Length > 0)
        {
            html.Element("p", Lead).Raw("\n");
        }

        WriteBody(html, id);
        html.Raw("</section>\n");
    }
}

/// <summary>Names and values, one pair a row. Values carry their units.</summary>
public sealed record Facts(string Title, params IReadOnlyList<(string Name, string Value)> Rows) : Section(Title)
{
    private protected override string Kind => Rows.Count <= UnbrokenRows ? "part whole" : "part";

    internal override void WriteBody(HtmlText html, string id)
    {
        html.Raw("<table class=\"facts\">").Element("caption", Title).Raw("<tbody>\n");
        foreach ((string name, string value) in Rows)
        {
            html.Raw("<tr>").Element("th", name, ("scope", "row")).Element("td", value).Raw("</tr>\n");
        }

        html.Raw("</tbody></table>\n");
    }
}

/// <summary>Head of a table's column; the unit stands below the name.</summary>
public sealed record Column(string Head, string Unit = "", bool IsText = false)
{
    /// <summary>A column of numbers, set flush right.</summary>
    public static Column Number(string head, string unit = "") => new(head, unit);

    /// <summary>A column of words, set flush left.</summary>
    public static Column Text(string head) => new(head, IsText: true);
}

/// <summary>
/// A table. The first cell of a row names the row. Wider than the page, it scrolls inside its own frame, which the
/// keyboard can reach; about fourteen columns fit on paper.
/// </summary>
public sealed record DataTable : Section
{
    // More columns than this go in small print on paper.
    private const int DenseColumns = 8;

    // More columns than this, or words beside numbers, do not fit a phone: there, a row becomes a block.
    private const int NarrowColumns = 4;

    /// <summary>Throws an <see cref="ArgumentException"/> when a row has more or fewer cells than there are
    /// columns.</summary>
    public DataTable(string title, IReadOnlyList<Column> columns, IReadOnlyList<IReadOnlyList<string>> rows)
        : base(title)
    {
        if (rows.Any(r => r.Count != columns.Count))
        {
            throw new ArgumentException(
                $"table '{title}': a row has {rows.First(r => r.Count != columns.Count).Count} cells for "
                + $"{columns.Count} columns", nameof(rows));
        }

        Columns = columns;
        Rows = rows;
    }

    public IReadOnlyList<Column> Columns { get; }

    public IReadOnlyList<IReadOnlyList<string>> Rows { get; }

    private protected override string Kind => Rows.Count <= UnbrokenRows ? "part whole" : "part";

    internal override void WriteBody(HtmlText html, string id)
    {
        html.Open("div", ("class", "scroll"), ("role", "group"), ("aria-labelledby", id), ("tabindex", "0"));
        html.Open("table", ("class", Classes())).Element("caption", Title)
            .Raw("<thead><tr>");
        foreach (Column column in Columns)
        {
            html.Open("th", ("scope", "col"), ("class", Class(column))).Content(column.Head);
            if (column.Unit.Length > 0)
            {
                html.Raw(" ").Element("span", column.Unit, ("class", "unit"));
            }

            html.Close("th");
        }

        html.Raw("</tr></thead><tbody>\n");
        foreach (IReadOnlyList<string> row in Rows)
        {
            html.Raw("<tr>").Element("th", row[0], ("scope", "row"), ("class", Class(Columns[0])),
                ("data-head", DataHead(Columns[0])));
            for (int i = 1; i < row.Count; i++)
            {
                html.Element("td", Columns[i].IsText ? row[i] : Minus(row[i]), ("class", Class(Columns[i])),
                    ("data-head", DataHead(Columns[i])));
            }

            html.Raw("</tr>\n");
        }

        html.Raw("</tbody></table></div>\n");
    }

    private static string DataHead(Column column) =>
        column.Unit.Length == 0 ? column.Head : $"{column.Head}, {column.Unit}";

    private string Classes() => "data" + (Columns.Count > DenseColumns ? " dense" : "")
        + (Columns.Count > NarrowColumns || (Columns.Count > 2 && Columns.Any(c => c.IsText)) ? " stacked" : "");

    // A minus sign has the width of a plus, and screen readers read it aloud; they skip a hyphen.
    private static string Minus(string number) => number.StartsWith('-') ? "−" + number[1..] : number;

    private static string Class(Column column) => column.IsText ? "words" : "number";
}

/// <summary>A photograph, carried inside the page. Shown in shades of red at night.</summary>
/// <param name="Title">Heading.</param>
/// <param name="Description">What the photograph shows, for readers who cannot see it.</param>
/// <param name="MediaType">image/jpeg or image/png.</param>
/// <param name="Bytes">The file.</param>
public sealed record Photo(string Title, string Description, string MediaType, ReadOnlyMemory<byte> Bytes)
    : Section(Title)
{
    /// <summary>Dark on light, as printed; inverted on the screen at night.</summary>
    public bool IsNegative { get; init; }

    private protected override string Kind => "part whole";

    internal override void WriteBody(HtmlText html, string id)
    {
        if (MediaType is not ("image/jpeg" or "image/png"))
        {
            throw new ArgumentException($"photo '{Title}': media type {MediaType} is neither image/jpeg nor image/png");
        }

        html.Open("div", ("class", IsNegative ? "photo negative" : "photo"));
        html.Open("img", ("alt", Description), ("src", $"data:{MediaType};base64,{Convert.ToBase64String(Bytes.Span)}"))
            .Raw("</div>\n");
    }
}

/// <summary>Remarks, one paragraph each.</summary>
public sealed record Notes(string Title, params IReadOnlyList<string> Paragraphs) : Section(Title)
{
    private protected override string Kind => "part notes";

    internal override void WriteBody(HtmlText html, string id)
    {
        foreach (string paragraph in Paragraphs)
        {
            html.Element("p", paragraph).Raw("\n");
        }
    }
}

/// <summary>Dangers to people, as a list.</summary>
public sealed record Cautions(params IReadOnlyList<string> Items) : Section("Cautions")
{
    private protected override string Kind => "part whole cautions";

    internal override void WriteBody(HtmlText html, string id)
    {
        html.Raw("<ul>\n");
        foreach (string item in Items)
        {
            html.Element("li", item).Raw("\n");
        }

        html.Raw("</ul>\n");
    }
}
