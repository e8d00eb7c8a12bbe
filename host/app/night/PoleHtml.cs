// The page of `hourhinge night --pole --html FILE`, for a phone at the tripod.

using Hourhinge.App.Common;
using Hourhinge.Report;
using Hourhinge.Report.Charts;
using Hourhinge.Sky.Bodies;
using static Hourhinge.App.Common.ConsoleOutput;

namespace Hourhinge.App.Night;

internal static class PoleHtml
{
    private const double PatternRadiusDeg = 3;
    private const double WideRadiusDeg = 40;

    /// <summary>The page.</summary>
    public static HtmlPage Page(PolePage page, bool night)
    {
        NightRequest ask = page.Request;
        var sections = new List<Section>();
        if (page.Hours.Count > 0)
        {
            double rim = Math.Ceiling(page.Hours.Max(h => h.Seen.Distance.Arcminutes) * 1.1 / 5) * 5;
            sections.Add(new SkyDial("Through the night",
                $"{page.Star.Name} stands at {page.Hours[0].Seen.HandText()} on the clock face at "
                + $"{ask.Clock(page.Hours[0].Time)} and at {page.Hours[^1].Seen.HandText()} at "
                + $"{ask.Clock(page.Hours[^1].Time)}.", $"rim {rim:0}' from the pole",
                [.. page.Hours.Select(h => new DialStar(h.Seen.Clock.Degrees, h.Seen.Distance.Arcminutes / rim,
                    ask.Clock(h.Time)[..2] + " h", 4))])
            {
                Lead = $"{page.Star.Name} about the pole (the cross), hour by hour, as the eye sees it facing "
                    + $"{(page.IsSouthern ? "south" : "north")}.",
            });
            sections.Add(new DataTable($"{page.Star.Name} by the hour ({page.Zone()})",
                [Column.Number("time"), Column.Number("hour hand"), Column.Number("pole towards")],
                [.. page.Hours.Select(h => (string[])[ask.Clock(h.Time), h.Seen.HandText(), h.PoleTowards])])
            {
                Lead = $"{Number(page.Hours[0].Seen.Distance.Arcminutes, 1)}' from the pole all night.",
            });
        }

        if (page.IsSouthern && page.Hours.Count > 0)
        {
            sections.Add(Dial("The pole's stars", page, page.Pattern, PatternRadiusDeg, 2));
            sections.Add(Dial("The way there", page, page.Guides, WideRadiusDeg, 1));
        }

        sections.Add(new DataTable("How good the aim is",
            [Column.Text("aimed"), Column.Number("aim error", "arcmin"), Column.Number("drift", "arcsec/min"),
                .. page.Lens == null
                ? []
                : (Column[])[Column.Number("1 px after", $"s at {page.Lens.FocalMm:0.#} mm")]],
            [.. page.Aims.Select(a => (string[])[a.Name, Number(a.Off.Arcminutes, 0), Number(a.ArcsecPerMinute, 2),
                .. page.Lens == null ? [] : (string[])[Number(a.SecondsForPixel(page.Lens), 0)]])])
        {
            Lead = "Drift of the worst placed stars. The second and third error are common practice, without source.",
        });
        sections.Add(new Notes("Step by step", page.Steps()));
        sections.Add(HtmlFile.RigCautions);
        return new HtmlPage($"Aim at the pole: {ask.Evening:yyyy-MM-dd}",
            new AssessmentBanner(page.IsPossible ? AssessmentKind.Good : AssessmentKind.NotGood, page.Sentence))
        {
            Night = night,
            Source = $"Made by: hourhinge night --pole, for {ask.SiteName}.",
            Sections = sections,
        };
    }

    private static SkyDial Dial(string title, PolePage page,
        IReadOnlyList<(string Name, double Magnitude, PoleSighting Seen)> stars, double radiusDeg, double faintPx) =>
        new(title, $"Seen facing south at {page.Request.Clock(page.MidTime)}: " + string.Join("; ", stars
            .Where(s => s.Name.Length > 0)
            .Select(s => $"{s.Name} {s.Seen.Distance.Degrees:0.#}° from the pole towards {s.Seen.HandText()}")) + ".",
            $"rim {radiusDeg:0}° from the pole",
            [.. stars.OrderBy(s => s.Magnitude)
                .Select(s => new DialStar(s.Seen.Clock.Degrees, s.Seen.Distance.Degrees / radiusDeg, s.Name,
                Math.Max(faintPx, faintPx + 4 - s.Magnitude)))])
        {
            Lead = $"As the eye sees it facing south at {page.Request.Clock(page.MidTime)}; the cross is the pole.",
        };
}
