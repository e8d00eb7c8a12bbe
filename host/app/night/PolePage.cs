// hourhinge night --pole: how to aim the axis by eye, and how good that is.

using System.Text.Json;
using Hourhinge.App.Common;
using Hourhinge.Numerics;
using Hourhinge.Sky.Bodies;
using Hourhinge.Sky.Planning;
using Hourhinge.Sky.Time;
using static Hourhinge.App.Common.ConsoleOutput;

namespace Hourhinge.App.Night;

/// <summary>How far an axis may be off after one way of aiming, and what that costs.</summary>
/// <param name="Name">The way of aiming.</param>
/// <param name="Off">How far off the axis may be.</param>
internal sealed record AimQuality(string Name, Angle Off)
{
    /// <summary>Drift of the worst placed stars.</summary>
    public double ArcsecPerMinute => PoleView.WorstDriftArcsecPerMinute(Off);

    /// <summary>Exposure in which they drift by one pixel.</summary>
    public double SecondsForPixel(LensScale lens) => lens.ArcsecPerPixel / ArcsecPerMinute * 60;
}

/// <summary>The evening's pole: computed once, printed or written as JSON.</summary>
internal sealed class PolePage
{
    /// <summary>Below this altitude the pole is lost in haze or behind the horizon (common practice, no
    /// source).</summary>
    public const double LowestPoleDeg = 8;

    private const double WideRadiusDeg = 40;
    private const double WideMagnitude = 2.9;
    private const double GoodAxisArcmin = 3;

    public PolePage(NightRequest request, LensScale? lens)
    {
        Request = request;
        Lens = lens;
        Altitude = PoleView.PoleAltitude(request.Site, request.Air);
        var evening = new PoleEvening(request.Site, request.Evening, request.Air, request.Zone.Local);
        (Window, MidTime, Star, Hours) = (evening.Window, evening.MidTime, evening.Star, evening.Hours);
        Pattern = [.. PoleStar.For(request.Site).Select(s => (s.Name, s.Magnitude, Of(s.Place, MidTime)))];
        Guides = [.. Catalogue.Stars
            .Where(s => (s.Place.J2000.Declination.Radians < 0) == request.Site.IsSouthern
                && s.Magnitude < WideMagnitude)
            .Select(s => (s.Name, s.Magnitude, Of(s.Place, MidTime)))
            .Where(s => s.Item3.Distance.Degrees < WideRadiusDeg)];
        Angle offset = Of(Star.Place, MidTime).Distance;
        Aims =
        [
            new($"at {Star.Name} itself", offset),
            new("by eye along the hinge, offset guessed", Angle.FromArcminutes(30)),
            new("through a sight tube, offset by the table", Angle.FromArcminutes(15)),
            new("after the two-frame check", Angle.FromArcminutes(GoodAxisArcmin)),
        ];
    }

    public NightRequest Request { get; }

    public LensScale? Lens { get; }

    /// <summary>Altitude of the pole as seen, with refraction.</summary>
    public Angle Altitude { get; }

    /// <summary>Sun more than 6° down, when stars can be seen; null when there is no such time.</summary>
    public TimeWindow? Window { get; }

    /// <summary>Two hours into that time at most: for which the pattern is drawn.</summary>
    public Instant MidTime { get; }

    /// <summary>The star nearest to the pole.</summary>
    public PoleStar Star { get; }

    /// <summary>Full hours of the site's clock.</summary>
    public IReadOnlyList<PoleHour> Hours { get; }

    /// <summary>The stars near the pole.</summary>
    public IReadOnlyList<(string Name, double Magnitude, PoleSighting Seen)> Pattern { get; }

    /// <summary>Bright stars around it that lead there.</summary>
    public IReadOnlyList<(string Name, double Magnitude, PoleSighting Seen)> Guides { get; }

    public IReadOnlyList<AimQuality> Aims { get; }

    /// <summary>Whether aiming by eye is possible.</summary>
    public bool IsPossible => Hours.Count > 0 && Altitude.Degrees >= LowestPoleDeg;

    public bool IsSouthern => Request.Site.IsSouthern;

    /// <summary>The main result.</summary>
    public string Sentence => Hours.Count == 0
        ? "Not possible by eye: the sun does not go 6° down this night."
        : !IsPossible
        ? $"Not possible by eye: the pole is only {Number(Altitude.Degrees, 1)}° up. Aim with compass and "
            + "inclinometer, "
            + "then use the two-frame check."
        : $"Set the axis {Number(Altitude.Degrees, 1)}° high, due {(IsSouthern ? "south" : "north")}. {Star.Name} is "
            + $"{Number(Hours[0].Seen.Distance.Arcminutes, 0)}' from the pole: at {Request.Clock(Hours[0].Time)} it "
            + $"stands where an hour hand shows {Hours[0].Seen.HandText()}, and the pole lies from it towards "
            + $"{Hours[0].PoleTowards}.";

    /// <summary>How to aim, step by step.</summary>
    public IReadOnlyList<string> Steps()
    {
        string way = IsSouthern ? "south" : "north";
        double minutes = Lens == null ? 10
            : Math.Clamp(Math.Ceiling(Lens.ArcsecPerPixel / 2 / Aims[^1].ArcsecPerMinute), 2, 60);
        return
        [
            $"Point the axis at true {way} (a compass shows magnetic {way}: apply the declination of your map) and "
                + $"{Number(Altitude.Degrees, 1)}° high, with an inclinometer on the hinge pin.",
            $"Stand behind the hinge, face {way} and sight along the pin or a tube parallel to it. Clock hours are "
            + "as the "
                + "naked eye sees them; a finder that turns the picture upside down shows the opposite hour.",
            $"Put the sight on {Star.Name}, then move it by the distance in the table towards the hour under \"pole "
                + $"towards\". The moon is about 30' wide. The sky turns "
                + $"{(IsSouthern ? "clockwise" : "anticlockwise")} "
                + "about the pole.",
            "Two-frame check: two frames with the drive stopped into DIR/stopped, then start the drive and take two "
                + $"frames {minutes:0} minutes apart into DIR/tracked (an axis {GoodAxisArcmin:0}' off "
                + (Lens == null ? "drags the worst placed stars by 8 arcsec in that time)."
                    : $"drags the worst placed stars by half a pixel at {Lens.FocalMm:0.#} mm in that time)."),
            "Then: hourhinge calibrate stars RIG DIR --quick. It says how to turn the axis, and by how "
                + "much. Turn it and check again.",
        ];
    }

    public void Print(Theme theme)
    {
        theme.Assessment(Sentence);
        if (Hours.Count > 0)
        {
            Spectre.Console.Table hours = theme.Table(
                $"{Star.Name} about the pole, {Request.SiteName}, {Request.Evening:yyyy-MM-dd} ({Zone()})", "time",
                "hour hand", "pole towards", "off, '");
            foreach (PoleHour hour in Hours)
            {
                theme.Row(hours, Request.Clock(hour.Time), hour.Seen.HandText(), hour.PoleTowards,
                    Number(hour.Seen.Distance.Arcminutes, 1));
            }

            Theme.Show(hours);
        }

        if (IsSouthern)
        {
            theme.Line(
                $"The pole's stars at {Request.Clock(MidTime)}, facing south; + is the pole, the frame 3° high:");
            theme.Line(PolePattern.Text(Pattern, 3));
        }

        Spectre.Console.Table aims = theme.Table("How good the aim is", "aimed", "aim error, '", "drift, \"/min",
            Lens == null ? "" : $"1 px at {Lens.FocalMm:0.#} mm after, s");
        foreach (AimQuality aim in Aims)
        {
            theme.Row(aims, aim.Name, Number(aim.Off.Arcminutes, 0), Number(aim.ArcsecPerMinute, 2),
                Lens == null ? "" : Number(aim.SecondsForPixel(Lens), 0));
        }

        Theme.Show(aims);
        theme.Line("The drift is that of the worst placed stars. The second and third error are common practice, "
            + "without source.");
        int number = 0;
        foreach (string step in Steps())
        {
            theme.Line($"{++number}. {step}");
        }
    }

    public void Write(Utf8JsonWriter w)
    {
        w.WriteString("date",
            Request.Evening.ToString("yyyy-MM-dd", System.Globalization.CultureInfo.InvariantCulture));
        w.WriteString("pole", IsSouthern ? "south" : "north");
        w.Number("pole_altitude_deg", Altitude.Degrees, 3);
        w.WriteBoolean("possible_by_eye", IsPossible);
        w.WriteString("star", Star.Name);
        w.WriteStartArray("hours");
        foreach (PoleHour hour in Hours)
        {
            w.WriteStartObject();
            w.WriteString("utc", NightRequest.Iso(hour.Time));
            w.Number("clock_deg", hour.Seen.Clock.Degrees, 3);
            w.Number("distance_arcmin", hour.Seen.Distance.Arcminutes, 3);
            w.WriteEndObject();
        }

        w.WriteEndArray();
        w.WriteStartArray("aims");
        foreach (AimQuality aim in Aims)
        {
            w.WriteStartObject();
            w.WriteString("aim", aim.Name);
            w.Number("off_arcmin", aim.Off.Arcminutes, 2);
            w.Number("worst_drift_arcsec_per_min", aim.ArcsecPerMinute, 4);
            w.Number("one_pixel_after_s", Lens == null ? double.NaN : aim.SecondsForPixel(Lens), 1);
            w.WriteEndObject();
        }

        w.WriteEndArray();
        w.Texts("steps", Steps());
    }

    /// <summary>Name of the clock shown.</summary>
    public string Zone() => Window is { } w ? Request.Zone.Name(w.Start.ToUtc(), w.End.ToUtc()) : "UTC";

    private PoleSighting Of(CataloguePlace star, Instant t) => PoleView.Of(star, t, Request.Site, Request.Air);
}
