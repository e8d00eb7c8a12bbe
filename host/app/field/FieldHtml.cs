// The page of `hourhinge field FILE... --html FILE`.

using Hourhinge.Report;
using static Hourhinge.App.Common.ConsoleOutput;

namespace Hourhinge.App.Field;

internal static class FieldHtml
{
    public static HtmlPage Page(FieldPage page, bool night)
    {
        var sections = new List<Section>();
        foreach (FieldResult r in page.Results)
        {
            sections.Add(new Facts(r.Name, [.. FieldPage.Facts(r)]));
            if (r.Picture is { } picture)
            {
                string found = r.Contents is { } c
                    ? $"{c.Expected.Count(s => s.IsFound)} of {c.Expected.Count} expected stars are found "
                        + "(circles), the others are missing (crosses). Named stars and objects carry their names."
                    : "The frame without marks: its field is not recognised.";
                string description = found + " A negative: stars dark on light.";
                sections.Add(
                    new Photo($"{r.Name}: the frame", description, "image/jpeg", picture) { IsNegative = true });
            }

            if (r.Contents is { Objects.Count: > 0 } contents)
            {
                sections.Add(new DataTable($"{r.Name}: objects",
                    [Column.Text("object"), Column.Text("kind"), Column.Number("magnitude"), Column.Number("column"),
                        Column.Number("row")],
                    [.. FieldPage.Chosen(contents).Select(o => (string[])[o.Name, o.Kind,
                        o.Magnitude is { } m ? Number(m, 1) : "–", Number(o.Place.X, 0), Number(o.Place.Y, 0)])]));
            }
        }

        sections.Add(new Notes(
            "How this was measured",
            "Patterns of four stars are looked up in the Hipparcos catalogue without knowing where the frame looks. "
            + "A field "
            + "is accepted only where its stars fit at least half a thousand million times better than accidents do; "
            + "otherwise it is not recognised.",
            "Centre, focal length, rotation and the lens's radial distortion are fitted to all stars found. Places "
            + "are J2000 "
            + "without proper motion; refraction is taken off where site and time are known. Stars to half a "
            + "magnitude above the faintest "
            + "found are "
            + "expected; where many are missing, something hides them."));
        bool all = page.Recognised == page.Results.Count && !page.Results.Any(r => r.IsModelDoubtful);
        return new HtmlPage("Where the frames look",
            new AssessmentBanner(all ? AssessmentKind.Good : AssessmentKind.NotGood,
                (all ? "Good: " : "Not good: ") + page.Assessment[..1].ToLowerInvariant() + page.Assessment[1..]))
        {
            Night = night,
            Source = $"Made by: hourhinge field {string.Join(' ', page.Results.Take(3).Select(r => r.Name))}"
                + (page.Results.Count > 3 ? " ..." : "."),
            Sections = sections,
        };
    }
}
