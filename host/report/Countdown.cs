// A countdown by the reader's own clock: page.js writes the time left. Without a script the list of times remains.

using System.Globalization;

namespace Hourhinge.Report;

/// <summary>Something that happens at a time.</summary>
/// <param name="Label">What, as the subject of a sentence: "Rewind 2".</param>
/// <param name="Clock">The time for people, in the page's time zone.</param>
/// <param name="Utc">The time.</param>
public sealed record TimedEvent(string Label, string Clock, DateTimeOffset Utc);

/// <summary>The time left to the next of several events.</summary>
public sealed record Countdown(string Title, params IReadOnlyList<TimedEvent> Events) : Section(Title)
{
    private protected override string Kind => "part whole";

    internal override void WriteBody(HtmlText html, string id)
    {
        html.Open("div", ("class", "countdown")).Raw("\n");
        html.Raw("<p class=\"left\" role=\"timer\" hidden></p>\n<ol>\n");
        foreach (TimedEvent timed in Events)
        {
            html.Open("li", ("data-at", timed.Utc.ToUnixTimeMilliseconds().ToString(CultureInfo.InvariantCulture)),
                ("data-label", timed.Label));
            html.Content($"{timed.Clock} {timed.Label}").Close("li").Raw("\n");
        }

        html.Raw("</ol>\n</div>\n");
    }
}
