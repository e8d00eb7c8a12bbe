// The pages of `hourhinge night --html FILE`: one night, or with --year the 52 weeks from a date on.

using Hourhinge.App.Common;
using Hourhinge.Report;
using Hourhinge.Report.Charts;
using Hourhinge.Sky.Planning;
using Hourhinge.Sky.Time;
using static Hourhinge.App.Common.ConsoleOutput;

namespace Hourhinge.App.Night;

internal static class NightHtml
{
    private const int MonthsAhead = 12;

    /// <summary>One night.</summary>
    public static HtmlPage Page(NightPage page, bool night)
    {
        NightRequest ask = page.Request;
        string target = ask.Targets[0].Name;
        string sentence = page.HasFrames
            ? $"Good: {page.Runs.Frames} frames, {page.Runs.ExposureHours:0.0} h of exposure in "
                + $"{page.Runs.Runs.Count} runs."
            : "Not good: no useful frames this night. Try another date, a lower altitude, or the year's view.";
        var sections = new List<Section>();
        if (page.Runs.Runs.Count > 0)
        {
            sections.Add(new Countdown($"Next ({page.Zone()})", [.. page.Runs.Runs.SelectMany((r, i) => new[]
            {
                new TimedEvent($"Start of run {i + 1}", ask.Clock(r.Start), r.Start.ToUtc()),
                new TimedEvent(r.RewindUntil == null ? "End of the last run" : $"Rewind after run {i + 1}",
                    ask.Clock(r.End), r.End.ToUtc()),
            })])
            {
                Lead = "By this device's own clock; no network is needed.",
            });
        }

        sections.Add(TheNight(page));
        if (page.Frame is { } frame && page.Field is { } field)
        {
            sections.Add(new Facts(
                "The frame",
                ("Field", $"{field.LongSide.Degrees:0.0}° by {field.ShortSide.Degrees:0.0}°"),
                ("Targets",
                    $"{string.Join(", ", ask.Targets.Select(t => t.Name))}: {(frame.Fits ? "fit" : "do not fit")}, "
                    + $"margin {frame.Margin.Arcminutes:0} arcmin"),
                ("Centre",
                    $"right ascension {frame.Centre.RightAscension.Degrees:0.00}°, declination "
                    + $"{frame.Centre.Declination.Degrees:0.00}° (J2000)"),
                ("Long side", $"{frame.LongSidePositionAngle.Degrees:0}° from north through east")));
        }

        if (page.Runs.Runs.Count > 0)
        {
            sections.Add(new DataTable(
                $"Runs and rewinds ({page.Zone()})",
                [Column.Number("run"), Column.Number("start"), Column.Number("end"), Column.Number("frames"),
                    Column.Number("rewound at")],
                [.. page.Runs.Runs.Select((r, i) => (string[])[$"{i + 1}", ask.Clock(r.Start), ask.Clock(r.End),
                    $"{r.Frames}", r.RewindUntil is { } ready ? ask.Clock(ready) : "done"])])
            {
                Lead = $"Travel {page.Runs.Plan.TravelMinutes:0} min a run, frames of "
                    + $"{page.Runs.Plan.ExposureSeconds:0.#} s. Clear the hinge before each rewind.",
            });
        }

        if (page.Points.Count > 1)
        {
            sections.Add(Altitudes(page));
            sections.Add(new DataTable(
                $"Through the dark ({page.Zone()})",
                [Column.Number("time"), Column.Number("altitude", "°"), Column.Number("azimuth", "°"),
                    Column.Number("airmass"), Column.Number("extinction", "mag"), Column.Number("moon altitude", "°"),
                    Column.Number("moon separation", "°")],
                [.. page.Points.Select(p => (string[])
                [
                    ask.Clock(p.Time),
                    Number(p.Observed.Altitude.Degrees, 1),
                    Number(p.Observed.Azimuth.Degrees, 0),
                    IsUp(p) ? Number(p.Airmass, 2) : "–",
                    IsUp(p) ? Number(p.ExtinctionMagnitudes, 2) : "–",
                    Number(p.MoonAltitude.Degrees, 0),
                    Number(p.MoonSeparation.Degrees, 0),
                ])]));
        }

        var pole = new PoleEvening(ask.Site, ask.Evening, ask.Air, ask.Zone.Local);
        if (pole.Hours.Count > 0)
        {
            sections.Add(new DataTable($"{pole.Star.Name} by the hour ({page.Zone()})",
                [Column.Number("time"), Column.Number("hour hand"), Column.Number("pole towards")],
                [.. pole.Hours.Select(h => (string[])[ask.Clock(h.Time), h.Seen.HandText(), h.PoleTowards])])
            {
                Lead = $"Where the star stands on the clock face about the pole, "
                    + $"{pole.Hours[0].Seen.Distance.Arcminutes:0}' off, facing "
                    + $"{(ask.Site.IsSouthern ? "south" : "north")}; and where the pole lies from it.",
            });
        }

        sections.Add(HtmlFile.RigCautions);
        return new HtmlPage($"{target}: night of {ask.Evening:yyyy-MM-dd}",
            new AssessmentBanner(page.HasFrames ? AssessmentKind.Good : AssessmentKind.NotGood, sentence))
        {
            Night = night,
            Source = $"Made by: hourhinge night, for {ask.SiteName}.",
            Sections = sections,
        };
    }

    /// <summary>A year.</summary>
    public static HtmlPage Page(YearPage page, bool night)
    {
        NightRequest ask = page.Request;
        string now = YearPage.Reason(page.Weeks[0]);
        string sentence = page.HasSeason
            ? $"Good: best from {page.Weeks[page.First].Start:yyyy-MM-dd} for {page.Count} weeks. This week: {now}."
            : $"Not good: never well placed from this site, {now}.";
        double[] week = [.. page.Weeks.Select((_, i) => (double)i)];
        // The start of each month, in weeks from the first evening.
        DateOnly first = page.Weeks[0].Start;
        Tick[] months = [.. Enumerable.Range(1, MonthsAhead)
            .Select(m => new DateOnly(first.Year, first.Month, 1).AddMonths(m))
            .Select(d => new Tick((d.DayNumber - first.DayNumber) / 7.0,
                d.ToString("MMM", System.Globalization.CultureInfo.InvariantCulture)))
            .Where(t => t.Value <= week[^1])
            .Where((_, i) => i % 2 == 0)];
        return new HtmlPage($"{ask.Targets[0].Name}: the year",
            new AssessmentBanner(page.HasSeason ? AssessmentKind.Good : AssessmentKind.NotGood, sentence))
        {
            Night = night,
            Source = $"Made by: hourhinge night --year, for {ask.SiteName}.",
            Sections =
            [
                new Facts(
                    "Asked for",
                    ("Site", ask.SiteName),
                    ("High enough from", $"{ask.Altitude.Degrees:0}°"),
                    ("Dark", "sun 18° below the horizon"),
                    ("Each week", "assessed by its middle night")),
                new Chart(
                    "Hours a night",
                    page.HasSeason
                        ? $"Most useful hours: {page.Weeks.Max(w => w.UsefulHours):0.0} in the week from "
                            + $"{page.Weeks.MaxBy(w => w.UsefulHours).Start:yyyy-MM-dd}."
                        : "There are no useful hours in any week.",
                    new Axis($"weeks from {first:yyyy-MM-dd}") { Ticks = months, From = 0, To = week[^1] },
                    new Axis("hours") { From = 0 })
                {
                    Series =
                    [
                        new Series("dark", week, [.. page.Weeks.Select(w => w.DarkHours)]),
                        new Series($"above {ask.Altitude.Degrees:0}° in the dark", week,
                            [.. page.Weeks.Select(w => w.UsefulHours)]),
                        new Series("and moon-free", week, [.. page.Weeks.Select(w => w.MoonFreeHours)]),
                    ],
                },
                new DataTable(
                    "Week by week",
                    [Column.Text("week from"), Column.Number("dark", "h"), Column.Number("useful", "h"),
                        Column.Number("moon-free", "h"), Column.Number("moon lit", "%"), Column.Text("limited by")],
                    [.. page.Weeks.Select(w => (string[])
                    [
                        $"{w.Start:yyyy-MM-dd}",
                        Number(w.DarkHours, 1),
                        Number(w.UsefulHours, 1),
                        Number(w.MoonFreeHours, 1),
                        Number(w.MoonIlluminatedFraction * 100, 0),
                        w.Obstacle == Obstacle.None ? "nothing" : YearPage.Reason(w),
                    ])]),
            ],
        };
    }

    private static Facts TheNight(NightPage page)
    {
        NightRequest ask = page.Request;
        return new Facts(
            "The night",
            [("Site", ask.SiteName),
            ("Dark, sun 18° down", page.Dark is { } dark
                ? $"{ask.Clock(dark.Start)} to {ask.Clock(dark.End)} {page.Zone()}, {dark.Hours:0.0} h"
                : "no: the sun does not go 18° down"),
            ($"Target above {ask.Altitude.Degrees:0}°", page.Useful.Count == 0
                ? "not in the dark"
                : string.Join("; ", page.Useful.Select(w => $"{ask.Clock(w.Start)} to {ask.Clock(w.End)}"))),
            ("Highest (transit)", page.TransitText()),
            ("Moon",
                $"{page.Phase.IlluminatedFraction * 100:0} % lit, "
                + $"{(page.Phase.IsWaxing ? "waxing" : "waning")}{page.MoonTimes()}"),
            (page.Pole.Star.Name,
                $"{page.Pole.Distance.Arcminutes:0.0} arcmin from the pole towards "
                + $"{NightPage.ClockFace(page.Pole.ClockFaceHours)} at mid-night; an axis aimed at it drags stars "
                + $"up to {page.Pole.WorstDriftArcsecPerMinute:0.0} arcsec a minute"),
            .. page.PackText is { } pack ? new[] { ("Pack", pack) } : []]);
    }

    private static Chart Altitudes(NightPage page)
    {
        Instant start = page.Points[0].Time;
        double[] hours = [.. page.Points.Select(p => p.Time.MinutesSince(start) / 60)];
        TrackPoint best = page.Points.MaxBy(p => p.Observed.Altitude.Degrees);
        int step = hours[^1] > 6 ? 2 : 1;
        // Full hours of the clock that was asked for.
        DateTimeOffset clock = page.Request.Zone.Local(start.ToUtc());
        double toNextHour = (60 - (clock.TimeOfDay.TotalMinutes % 60)) / 60;
        Tick[] ticks = [.. Enumerable.Range(0, 24 / step).Select(i => toNextHour + (i * step))
            .Where(h => h <= hours[^1])
            .Select(h => new Tick(h, page.Request.Clock(start.PlusHours(h).PlusMinutes(0.01))))];
        return new Chart(
            "Altitude through the dark",
            $"The target stands highest, {best.Observed.Altitude.Degrees:0}°, at {page.Request.Clock(best.Time)}.",
            new Axis(page.Zone()) { From = 0, To = hours[^1], Ticks = ticks },
            new Axis("altitude, °") { From = 0, To = 90 })
        {
            Series =
            [
                Curve("target", p => p.Observed.Altitude.Degrees),
                .. page.Points.Any(p => p.MoonAltitude.Degrees > 0)
                ? [Curve("moon", p => p.MoonAltitude.Degrees)]
                : Array.Empty<Series>(),
            ],
            Bands = [.. page.Runs.Runs.Take(1).Select(r => new Band("first to last run",
                r.Start.MinutesSince(start) / 60, page.Runs.Runs[^1].End.MinutesSince(start) / 60) { IsOfX = true })],
            Marks = [new Mark("high enough", page.Request.Altitude.Degrees)],
        };

        // Altitudes below the horizon are not drawn.
        Series Curve(string name, Func<TrackPoint, double> altitude) =>
            new(name, hours, [.. page.Points.Select(p => altitude(p) >= 0 ? altitude(p) : double.NaN)]);
    }

    private static bool IsUp(TrackPoint p) => p.Observed.Altitude.Degrees > 3;
}
