// The field sheet: what is needed at the tripod. Black on white without colours and without fine grey: red light shows
// red and pale ink as paper.

using Hourhinge.App.Common;
using Hourhinge.Numerics;
using Hourhinge.Rig;
using Hourhinge.Sky.Observing;
using Hourhinge.Sky.Places;
using Hourhinge.Sky.Planning;
using Hourhinge.Sky.Time;

namespace Hourhinge.App.Sheet;

/// <summary>What the night needs: evening, clock, target, plan.</summary>
internal sealed record FieldNight(DateOnly Evening, SiteClock Clock, SkyTarget? Target, Angle Altitude, RunPlan Plan);

internal static class FieldSheet
{
    private static readonly string[] _checklist =
    [
        "Pack charged, cables tied at the hinge with loops for the whole travel, switch within reach.",
        "Tripod weighted and level; its legs and cables marked with something dim.",
        "Hinge rewound to the start: hold the button, or by hand.",
        "Axis aimed: altitude, pole star, two-frame check.",
        "Camera tethered; focus on a bright star and taped; stabiliser off; raw; battery; card empty.",
        "One test frame of the planned exposure, looked at in full size.",
        "After every rewind: target framed again, half a minute of tracking before the first exposure.",
    ];

    // A field sheet is one page where the lines can be moved together for it.
    private static readonly double[] _lineMm = [FlowPages.UsualLineMm, 4.4, 4.1];

    /// <summary>The pages.</summary>
    public static IReadOnlyList<SheetPage> Pages(RigDescription rig, double travelMin, FieldNight night, Paper paper,
        string footer)
    {
        SheetPage[][] tried = [.. _lineMm.Select(l => Pages(rig, travelMin, night, paper, footer, l).ToArray())];
        return tried.FirstOrDefault(pages => pages.Length == 1) ?? tried[0];
    }

    private static IEnumerable<SheetPage> Pages(RigDescription rig, double travelMin, FieldNight night, Paper paper,
        string footer, double lineMm)
    {
        var flow = new FlowPages(paper, $"{rig.Name}: field sheet, {night.Evening:yyyy-MM-dd}", footer, lineMm);
        flow.Heading("Button and light");
        flow.Table([0.17, 0.23, 0.2, 0.22, 0.18], ["state", "light", "press", "hold 2 s", "press twice"],
            PanelWords.Rows(rig));
        flow.Paragraph("Numbers: each hundred a very long flash, each ten a long one, each one a short one. Three "
            + "flickers: refused. The light is dark while the shutter is open.");
        Runs(flow, rig, travelMin, night);
        Pole(flow, rig, night);
        flow.Heading("Checklist");
        if (rig.Pack is { } pack)
        {
            flow.Check($"The pack lasts {ConsoleOutput.Number(pack.Hours, 1)} h; switched on at: ________");
        }

        foreach (string item in _checklist)
        {
            flow.Check(item);
        }

        flow.Heading("Cautions");
        foreach (string caution in HtmlFile.RigCautions.Items)
        {
            flow.Paragraph(caution, "!", bold: true);
        }

        return flow.Pages();
    }

    private static void Runs(FlowPages flow, RigDescription rig, double travelMin, FieldNight night)
    {
        flow.Heading("Runs and rewinds");
        if (night.Target == null || rig.Site == null)
        {
            flow.Paragraph($"Travel {travelMin:0} min a run. Left out: the times, "
                + (rig.Site == null ? "because the rig file has no table [site]." : "because no --target was given."));
            return;
        }

        Site site = PlaceOf(rig.Site);
        DarkHours hours = DarkHours.Of(site, night.Evening);
        TimeWindow? dark = hours.Dark();
        var track = new TargetTrack(night.Target.Place, site, Air.AtHeight(rig.Site.HeightM));
        var runs = RunTimetable.Fill(dark is { } window ? track.Above(night.Altitude, window) : [], night.Plan);
        string zone = Zone(night, dark ?? hours.Span);
        if (runs.Runs.Count == 0)
        {
            flow.Paragraph($"{night.Target.Name}: no useful frames this night (dark and above "
                + $"{night.Altitude.Degrees:0}°).", bold: true);
            return;
        }

        flow.Paragraph($"{night.Target.Name}: {runs.Frames} frames of {night.Plan.ExposureSeconds:0.#} s, gap "
            + $"{night.Plan.GapSeconds:0.#} s, {runs.ExposureHours:0.0} h in all. Travel {travelMin:0} min a run. "
            + $"Times: {zone}.");
        flow.Table([0.1, 0.18, 0.18, 0.16, 0.2, 0.18], ["run", "start", "end", "frames", "rewound at", "done"],
            runs.Runs.Select((r, i) => (string[])[$"{i + 1}", Clock(night, r.Start), Clock(night, r.End), $"{r.Frames}",
                r.RewindUntil is { } ready ? Clock(night, ready) : "-", ""]));
    }

    private static void Pole(FlowPages flow, RigDescription rig, FieldNight night)
    {
        flow.Heading("Pole star clock");
        if (rig.Site == null)
        {
            flow.Paragraph("Left out: the rig file has no table [site].");
            return;
        }

        Site site = PlaceOf(rig.Site);
        var air = Air.AtHeight(rig.Site.HeightM);
        var evening = new PoleEvening(site, night.Evening, air, night.Clock.Local);
        Angle altitude = Hourhinge.Sky.Bodies.PoleView.PoleAltitude(site, air);
        if (evening.Hours.Count == 0)
        {
            flow.Paragraph("The sun does not go 6° down this night.");
            return;
        }

        PoleHour first = evening.Hours[0];
        flow.Paragraph($"Pole {altitude.Degrees:0.0}° high, due {(site.IsSouthern ? "south" : "north")}. "
            + $"{evening.Star.Name}, {first.Seen.Distance.Arcminutes:0}' from the pole: where an hour hand shows "
            + "(12 is "
            + "up), facing the pole with the naked eye. From the star, the pole is towards the opposite hour.");
        PoleHour[] shown = [.. evening.Hours.Take(14)];
        double[] shares = [0.16, .. shown.Select(_ => 0.84 / shown.Length)];
        flow.Table(shares, ["time", .. shown.Select(h => Clock(night, h.Time)[..2])],
            [["star at", .. shown.Select(h => h.Seen.HandText())],
                ["pole towards", .. shown.Select(h => h.PoleTowards)]]);
        flow.Paragraph($"Times: full hours of {Zone(night, evening.Window!.Value)}.");
    }

    private static Site PlaceOf(SiteData site) => Site.FromDegrees(site.LatitudeDeg, site.LongitudeDeg, site.HeightM);

    private static string Zone(FieldNight night, TimeWindow span) =>
        night.Clock.Name(span.Start.ToUtc(), span.End.ToUtc());

    private static string Clock(FieldNight night, Instant t) =>
        night.Clock.Local(t.ToUtc()).ToString("HH:mm", System.Globalization.CultureInfo.InvariantCulture);
}
