// A builder for the text of a page. All content enters the markup through its escaping.

using System.Globalization;
using System.Text;

namespace Hourhinge.Report;

/// <summary>Builds markup. <see cref="Raw"/> is for literals of this project only; content goes through the
/// other methods.</summary>
internal sealed class HtmlText
{
    private readonly StringBuilder _text = new();

    /// <summary>Appends a literal of this project, unescaped.</summary>
    public HtmlText Raw(string markup)
    {
        _text.Append(markup);
        return this;
    }

    /// <summary>Appends content, escaped.</summary>
    public HtmlText Content(string text)
    {
        foreach (char c in text)
        {
            _ = c switch
            {
                '&' => _text.Append("&amp;"),
                '<' => _text.Append("&lt;"),
                '>' => _text.Append("&gt;"),
                '"' => _text.Append("&quot;"),
                '\'' => _text.Append("&#39;"),
                // HTML has no control characters.
                (< ' ' and not ('\n' or '\t')) or '\u007f' => _text.Append('\ufffd'),
                _ => _text.Append(c),
            };
        }

        return this;
    }

    /// <summary>A start tag; attribute values are escaped.</summary>
    public HtmlText Open(string tag, params ReadOnlySpan<(string Name, string Value)> attributes)
    {
        _text.Append('<').Append(tag);
        foreach ((string name, string value) in attributes)
        {
            _text.Append(' ').Append(name).Append("=\"");
            Content(value).Raw("\"");
        }

        return Raw(">");
    }

    /// <summary>An end tag.</summary>
    public HtmlText Close(string tag) => Raw("</").Raw(tag).Raw(">");

    /// <summary>An element that holds text.</summary>
    public HtmlText Element(string tag, string text, params ReadOnlySpan<(string Name, string Value)> attributes) =>
        Open(tag, attributes).Content(text).Close(tag);

    /// <summary>A coordinate, to a tenth of a pixel.</summary>
    public static string Px(double value) => (Math.Round(value, 1) + 0.0).ToString("0.#", CultureInfo.InvariantCulture);

    public override string ToString() => _text.ToString();
}
