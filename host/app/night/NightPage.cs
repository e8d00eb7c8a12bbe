using System.Text.Json;
using Hourhinge.App.Common;
using Hourhinge.Rig;
using Hourhinge.Sky.Bodies;
using Hourhinge.Sky.Planning;
using Hourhinge.Sky.Time;
using static Hourhinge.App.Common.ConsoleOutput;

namespace Hourhinge.App.Night;

/// <summary>One night for one target (and framing for several): computed once, printed or written as JSON.</summary>
internal sealed class NightPage
{
    public NightRequest Request { get; }

    public DarkHours Night { get; }

    /// <summary>Astronomical night; null where the sun does not go 18° down.</summary>
    public TimeWindow? Dark { get; }

    public IReadOnlyList<TimeWindow> Useful { get; }

    public RunTimetable Runs { get; }

    public MoonPhase Phase { get; }

    public IReadOnlyList<TrackPoint> Points { get; }

    public PoleStarPosition Pole { get; }

    /// <summary>The target's upper transit between noon and noon; null on the one day a year without.</summary>
    public TrackPoint? Transit { get; }

    public FieldOfView? Field { get; }

    public FramePlan? Frame { get; }

    /// <summary>Plans the night for the first target.</summary>
    public NightPage(NightRequest ask, RunPlan plan, FieldOfView? field)
    {
        Request = ask;
        Night = DarkHours.Of(ask.Site, ask.Evening);
        Dark = Night.Dark();
        var track = new TargetTrack(ask.Targets[0].Place, ask.Site, ask.Air);
        Useful = Dark is { } dark ? track.Above(ask.Altitude, dark) : [];
        Runs = RunTimetable.Fill(Useful, plan);
        Instant middle = Dark is { } d ? d.Start.PlusMinutes(d.Hours * 30) : Night.Span.Start.PlusHours(12);
        Phase = Moon.Phase(middle);
        Points = Dark is { } window
            ? track.Through(window, Math.Max(10, Math.Ceiling(window.Hours * 60 / 12 / 10) * 10)) : [];
        Pole = PoleStar.Nearest(ask.Site, middle);
        Transit = track.Transits(Night.Span) is [var highest, ..] ? track.At(highest) : null;
        Field = field;
        Frame = field is { } f ? Framing.Fit([.. ask.Targets.Select(t => t.Framed)], f) : null;
    }

    /// <summary>The pack; null when it is not known.</summary>
    public MeasuredPack? Pack { get; init; }

    public bool HasFrames => Runs.Frames > 0;

    /// <summary>When a full pack that is switched on at the first run is empty; null when it outlasts the runs, or is
    /// not known.</summary>
    public Instant? PackEmpty => Pack is { } pack && HasFrames
        && Runs.Runs[0].Start.PlusHours(pack.Hours) is var empty && empty < Runs.Runs[^1].End ? empty : null;

    /// <summary>The pack in words; null when it is not known.</summary>
    public string? PackText => Pack is not { } pack ? null
        : $"lasts {Number(pack.Hours, 1)} h at {pack.CurrentMa:0.#} mA: "
            + (PackEmpty is { } empty ? $"empty at {Request.Clock(empty)}, before the last run ends; take a second one"
                : HasFrames ? "enough for these runs" : "no runs this night");

    public void Print(Theme theme)
    {
        Spectre.Console.Table facts =
            theme.Facts($"{Request.Targets[0].Name} from {Request.SiteName}, night of {Request.Evening:yyyy-MM-dd}");
        theme.Row(facts, "dark (sun 18° down)", Dark is { } d
            ? $"{Request.Clock(d.Start)} to {Request.Clock(d.End)}, {d.Hours:0.0} h ({Zone()})"
            : "no: the sun does not go 18° down this night");
        theme.Row(facts, $"target above {Request.Altitude.Degrees:0}°", Useful.Count == 0
            ? "not in the dark"
            : string.Join("; ", Useful.Select(w => $"{Request.Clock(w.Start)} to {Request.Clock(w.End)}")));
        theme.Row(facts, "highest (transit)", TransitText());
        theme.Row(facts, "moon",
            $"{Phase.IlluminatedFraction * 100:0} % lit, {(Phase.IsWaxing ? "waxing" : "waning")}{MoonTimes()}");
        theme.Row(facts, Pole.Star.Name,
            $"{Pole.Distance.Arcminutes:0.0}' from the pole towards {ClockFace(Pole.ClockFaceHours)} at mid-night; "
            + $"aiming at it drags stars up to {Pole.WorstDriftArcsecPerMinute:0.0}\"/min");
        if (PackText is { } pack)
        {
            theme.Row(facts, "pack", pack);
        }

        if (Frame is { } frame && Field is { } field)
        {
            theme.Row(facts, "frame",
                $"{field.LongSide.Degrees:0.0}° by {field.ShortSide.Degrees:0.0}°; "
                + $"{(frame.Fits ? "fits" : "does not fit")}: margin {frame.Margin.Arcminutes:0}', long side at "
                + $"{frame.LongSidePositionAngle.Degrees:0}° from north");
            theme.Row(facts, "frame's centre",
                $"RA {frame.Centre.RightAscension.Degrees:0.00}°, declination "
                + $"{frame.Centre.Declination.Degrees:0.00}° (J2000)");
        }

        Theme.Show(facts);
        if (Points.Count > 0)
        {
            Spectre.Console.Table track = theme.Table($"Through the dark ({Zone()})", "time", "altitude", "azimuth",
                "airmass", "extinction, mag", "moon altitude", "moon separation");
            foreach (TrackPoint p in Points)
            {
                bool up = p.Observed.Altitude.Degrees > 3;
                theme.Row(track, Request.Clock(p.Time), Number(p.Observed.Altitude.Degrees, 1),
                    Number(p.Observed.Azimuth.Degrees, 0), up ? Number(p.Airmass, 2) : "–", up
                    ? Number(p.ExtinctionMagnitudes, 2) : "–", Number(p.MoonAltitude.Degrees, 0),
                    Number(p.MoonSeparation.Degrees, 0));
            }

            Theme.Show(track);
        }

        if (HasFrames)
        {
            Spectre.Console.Table runs =
                theme.Table(
                    $"Runs of {Runs.Plan.TravelMinutes:0} min travel, frames of {Runs.Plan.ExposureSeconds:0.#} s "
                    + $"({Zone()})", "run", "start", "end", "frames", "rewound at");
            for (int i = 0; i < Runs.Runs.Count; i++)
            {
                TrackingRun r = Runs.Runs[i];
                theme.Row(runs, $"{i + 1}", Request.Clock(r.Start), Request.Clock(r.End), $"{r.Frames}",
                    r.RewindUntil is { } ready ? Request.Clock(ready) : "done");
            }

            Theme.Show(runs);
        }

        theme.Assessment(HasFrames
            ? $"{Runs.Frames} frames, {Runs.ExposureHours:0.0} h of exposure."
                + (PackEmpty is { } empty ? $" The pack is empty at {Request.Clock(empty)}." : "")
            : "No useful frames this night: try another date, a lower --altitude, or --year.");
    }

    public void Write(Utf8JsonWriter w)
    {
        w.WriteString("target", Request.Targets[0].Name);
        w.WriteString("date",
            Request.Evening.ToString("yyyy-MM-dd", System.Globalization.CultureInfo.InvariantCulture));
        Window(w, "dark_utc", Dark);
        w.WriteStartArray("useful_utc");
        foreach (TimeWindow window in Useful)
        {
            w.WriteStringValue($"{NightRequest.Iso(window.Start)}/{NightRequest.Iso(window.End)}");
        }

        w.WriteEndArray();
        w.WriteString("transit_utc", Transit is { } transit ? NightRequest.Iso(transit.Time) : null);
        w.Number("transit_altitude_deg", Transit?.Observed.Altitude.Degrees ?? double.NaN, 3);
        w.Number("moon_lit_fraction", Phase.IlluminatedFraction, 4);
        w.WriteBoolean("moon_waxing", Phase.IsWaxing);
        IReadOnlyList<Crossing> moon = Night.MoonCrossings();
        Moment(w, "moonrise_utc", moon, true);
        Moment(w, "moonset_utc", moon, false);
        w.WriteString("pole_star", Pole.Star.Name);
        w.Number("pole_star_distance_arcmin", Pole.Distance.Arcminutes, 3);
        w.Number("pole_star_clock_h", Pole.ClockFaceHours, 3);
        w.WriteStartArray("track");
        foreach (TrackPoint p in Points)
        {
            w.WriteStartObject();
            w.WriteString("utc", NightRequest.Iso(p.Time));
            w.Number("altitude_deg", p.Observed.Altitude.Degrees, 3);
            w.Number("azimuth_deg", p.Observed.Azimuth.Degrees, 3);
            w.Number("hour_angle_h", p.Place.HourAngle.WrappedSigned().Degrees / 15, 4);
            w.Number("airmass", p.Airmass, 3);
            w.Number("extinction_mag", p.ExtinctionMagnitudes, 3);
            w.Number("moon_altitude_deg", p.MoonAltitude.Degrees, 2);
            w.Number("moon_separation_deg", p.MoonSeparation.Degrees, 2);
            w.WriteEndObject();
        }

        w.WriteEndArray();
        w.WriteStartArray("runs");
        foreach (TrackingRun r in Runs.Runs)
        {
            w.WriteStartObject();
            w.WriteString("start_utc", NightRequest.Iso(r.Start));
            w.WriteString("end_utc", NightRequest.Iso(r.End));
            w.WriteNumber("frames", r.Frames);
            w.WriteEndObject();
        }

        w.WriteEndArray();
        w.WriteNumber("frames", Runs.Frames);
        w.Number("exposure_h", Runs.ExposureHours, 3);
        w.Number("pack_hours", Pack?.Hours ?? double.NaN, 2);
        w.WriteString("pack_empty_utc", PackEmpty is { } empty ? NightRequest.Iso(empty) : null);
        if (Frame is { } frame && Field is { } field)
        {
            w.Number("field_long_deg", field.LongSide.Degrees, 4);
            w.Number("field_short_deg", field.ShortSide.Degrees, 4);
            w.WriteBoolean("targets_fit", frame.Fits);
            w.Number("frame_margin_arcmin", frame.Margin.Arcminutes, 2);
            w.Number("frame_ra_deg", frame.Centre.RightAscension.Degrees, 4);
            w.Number("frame_dec_deg", frame.Centre.Declination.Degrees, 4);
            w.Number("frame_long_side_pa_deg", frame.LongSidePositionAngle.Degrees, 2);
        }
    }

    public string Zone()
    {
        TimeWindow shown = Dark ?? Night.Span;
        return Request.Zone.Name(shown.Start.ToUtc(), shown.End.ToUtc());
    }

    public string TransitText() => Transit is { } t
        ? $"{Request.Clock(t.Time)}, {t.Observed.Altitude.Degrees:0}° high"
        : "not in these 24 hours";

    // The first of its kind between noon and noon; null when there is none.
    private static void Moment(Utf8JsonWriter w, string name, IReadOnlyList<Crossing> crossings, bool rising)
    {
        Crossing[] found = [.. crossings.Where(c => c.IsRising == rising)];
        w.WriteString(name, found.Length > 0 ? NightRequest.Iso(found[0].Time) : null);
    }

    public string MoonTimes()
    {
        IEnumerable<string> times = Night.MoonCrossings()
            .Select(c => $"{(c.IsRising ? "rises" : "sets")} {Request.Clock(c.Time)}");
        string all = string.Join(", ", times);
        return all.Length == 0 ? "" : "; " + all;
    }

    public static string ClockFace(double hours)
    {
        int hour = (int)Math.Round(hours) % 12;
        return $"{(hour == 0 ? 12 : hour)} o'clock";
    }

    private static void Window(Utf8JsonWriter w, string name, TimeWindow? window)
    {
        if (window is { } given)
        {
            w.WriteString(name, $"{NightRequest.Iso(given.Start)}/{NightRequest.Iso(given.End)}");
        }
        else
        {
            w.WriteNull(name);
        }
    }
}
