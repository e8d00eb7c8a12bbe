using System.Text.Json;
using Hourhinge.App.Commands;
using Hourhinge.Sky;
using static Hourhinge.App.Output.Say;

namespace Hourhinge.App.Output;

/// <summary>One night for one target (and framing for several): computed once, printed or written as JSON.</summary>
internal sealed class NightPage
{
    private readonly NightRequest _ask;
    private readonly Night _night;
    private readonly TimeWindow? _dark;
    private readonly TargetTrack _track;
    private readonly IReadOnlyList<TimeWindow> _useful;
    private readonly RunTimetable _runs;
    private readonly MoonPhase _moon;
    private readonly IReadOnlyList<TrackPoint> _points;
    private readonly PoleStarStand _pole;
    private readonly FieldOfView? _field;
    private readonly FramePlan? _frame;

    /// <summary>Plans the night for the first target.</summary>
    public NightPage(NightRequest ask, RunPlan plan, FieldOfView? field)
    {
        _ask = ask;
        _night = Night.Of(ask.Site, ask.Evening);
        _dark = _night.Dark();
        _track = new TargetTrack(ask.Targets[0].Place, ask.Site, ask.Air);
        _useful = _dark is { } dark ? _track.Above(ask.Altitude, dark) : [];
        _runs = RunTimetable.Fill(_useful, plan);
        Instant middle = _dark is { } d ? d.Start.PlusMinutes(d.Hours * 30) : _night.Span.Start.PlusHours(12);
        _moon = Moon.Phase(middle);
        _points = _dark is { } window ? _track.Through(window, Math.Max(10, Math.Ceiling(window.Hours * 60 / 12 / 10) * 10)) : [];
        _pole = PoleReference.StandOf(PoleStar.For(ask.Site).MinBy(s => s.Magnitude)!, middle, ask.Site, ask.Air);
        _field = field;
        _frame = field is { } f ? Framing.Fit([.. ask.Targets.Select(t => t.Framed)], f) : null;
    }

    public bool HasFrames => _runs.Frames > 0;

    public void Print(Theme theme)
    {
        Spectre.Console.Table facts = theme.Facts($"{_ask.Targets[0].Name} from {_ask.SiteName}, night of {_ask.Evening:yyyy-MM-dd}");
        theme.Row(facts, "dark (sun 18° down)", _dark is { } d ? $"{_ask.Clock(d.Start)} to {_ask.Clock(d.End)}, {d.Hours:0.0} h" : "no: the sun does not go 18° down this night");
        theme.Row(facts, $"target above {_ask.Altitude.Degrees:0}°", _useful.Count == 0 ? "not in the dark" : string.Join("; ", _useful.Select(w => $"{_ask.Clock(w.Start)} to {_ask.Clock(w.End)}")));
        theme.Row(facts, "moon", $"{_moon.IlluminatedFraction * 100:0} % lit, {(_moon.IsWaxing ? "waxing" : "waning")}{MoonTimes()}");
        theme.Row(facts, _pole.Star.Name, $"{_pole.Distance.Arcminutes:0.0}' from the pole towards {ClockFace(_pole.ClockFaceHours)} at mid-night; aiming at it drags stars up to {_pole.WorstDriftArcsecPerMinute:0.0}\"/min");
        if (_frame is { } frame && _field is { } field)
        {
            theme.Row(facts, "frame", $"{field.LongSide.Degrees:0.0}° by {field.ShortSide.Degrees:0.0}°; {(frame.Fits ? "fits" : "does not fit")}: margin {frame.Margin.Arcminutes:0}', long side at {frame.LongSidePositionAngle.Degrees:0}° from north");
            theme.Row(facts, "frame's middle", $"RA {frame.Centre.RightAscension.Degrees:0.00}°, declination {frame.Centre.Declination.Degrees:0.00}° (J2000)");
        }

        Theme.Show(facts);
        if (_points.Count > 0)
        {
            Spectre.Console.Table track = theme.Table($"Through the dark ({Zone()})", "time", "altitude", "azimuth", "airmass", "loss, mag", "moon up", "moon away");
            foreach (TrackPoint p in _points)
            {
                bool up = p.Seen.Altitude.Degrees > 3;
                theme.Row(track, _ask.Clock(p.Time), Number(p.Seen.Altitude.Degrees, 1), Number(p.Seen.Azimuth.Degrees, 0), up ? Number(p.Airmass, 2) : "–", up ? Number(p.ExtinctionMagnitudes, 2) : "–", Number(p.MoonAltitude.Degrees, 0), Number(p.MoonSeparation.Degrees, 0));
            }

            Theme.Show(track);
        }

        if (HasFrames)
        {
            Spectre.Console.Table runs = theme.Table($"Runs of {_runs.Plan.TravelMinutes:0} min travel, frames of {_runs.Plan.ExposureSeconds:0.#} s ({Zone()})", "run", "start", "end", "frames", "rewound at");
            for (int i = 0; i < _runs.Runs.Count; i++)
            {
                Run r = _runs.Runs[i];
                theme.Row(runs, $"{i + 1}", _ask.Clock(r.Start), _ask.Clock(r.End), $"{r.Frames}", r.RewindUntil is { } ready ? _ask.Clock(ready) : "done");
            }

            Theme.Show(runs);
        }

        theme.Verdict(HasFrames
            ? $"{_runs.Frames} frames, {_runs.ExposureHours:0.0} h of exposure."
            : "No useful frames this night: try another date, a lower --altitude, or --year.");
    }

    public void Write(Utf8JsonWriter w)
    {
        w.WriteString("target", _ask.Targets[0].Name);
        w.WriteString("date", _ask.Evening.ToString("yyyy-MM-dd", System.Globalization.CultureInfo.InvariantCulture));
        Window(w, "dark_utc", _dark);
        w.WriteStartArray("useful_utc");
        foreach (TimeWindow window in _useful)
        {
            w.WriteStringValue($"{NightRequest.Iso(window.Start)}/{NightRequest.Iso(window.End)}");
        }

        w.WriteEndArray();
        w.Number("moon_lit_fraction", _moon.IlluminatedFraction, 4);
        w.WriteString("pole_star", _pole.Star.Name);
        w.Number("pole_star_distance_arcmin", _pole.Distance.Arcminutes, 3);
        w.Number("pole_star_clock_h", _pole.ClockFaceHours, 3);
        w.WriteStartArray("track");
        foreach (TrackPoint p in _points)
        {
            w.WriteStartObject();
            w.WriteString("utc", NightRequest.Iso(p.Time));
            w.Number("altitude_deg", p.Seen.Altitude.Degrees, 3);
            w.Number("azimuth_deg", p.Seen.Azimuth.Degrees, 3);
            w.Number("airmass", p.Airmass, 3);
            w.Number("extinction_mag", p.ExtinctionMagnitudes, 3);
            w.Number("moon_altitude_deg", p.MoonAltitude.Degrees, 2);
            w.Number("moon_separation_deg", p.MoonSeparation.Degrees, 2);
            w.WriteEndObject();
        }

        w.WriteEndArray();
        w.WriteStartArray("runs");
        foreach (Run r in _runs.Runs)
        {
            w.WriteStartObject();
            w.WriteString("start_utc", NightRequest.Iso(r.Start));
            w.WriteString("end_utc", NightRequest.Iso(r.End));
            w.WriteNumber("frames", r.Frames);
            w.WriteEndObject();
        }

        w.WriteEndArray();
        w.WriteNumber("frames", _runs.Frames);
        w.Number("exposure_h", _runs.ExposureHours, 3);
        if (_frame is { } frame && _field is { } field)
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

    private string Zone() => _ask.UtcOffset == TimeSpan.Zero ? "UTC" : $"UTC{(_ask.UtcOffset > TimeSpan.Zero ? "+" : "")}{_ask.UtcOffset.TotalHours:0.##} h";

    private string MoonTimes()
    {
        IEnumerable<string> times = _night.MoonCrossings().Select(c => $"{(c.IsRising ? "rises" : "sets")} {_ask.Clock(c.Time)}");
        string all = string.Join(", ", times);
        return all.Length == 0 ? "" : "; " + all;
    }

    private static string ClockFace(double hours)
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
