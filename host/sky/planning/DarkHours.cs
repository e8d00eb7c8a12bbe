// One night at one site: sunset, the three twilights, darkness, moonrise and moonset.
// Not here: targets (TargetTrack.cs) and timetables (RunTimetable.cs).
using Hourhinge.Numerics;
using Hourhinge.Sky.Bodies;
using Hourhinge.Sky.Places;
using Hourhinge.Sky.Time;

namespace Hourhinge.Sky.Planning;

/// <summary>Altitudes of the sun that define sunset and the twilights (almanac practice).</summary>
public enum SunLevel
{
    /// <summary>Upper limb on the refracted horizon: centre 50 arcmin below.</summary>
    SunsetSunrise,
    Civil,
    Nautical,
    Astronomical,
}

/// <summary>Whether the sun crosses a level between one noon and the next.</summary>
public enum SunCase
{
    /// <summary>It goes below and comes back.</summary>
    GoesBelow,

    /// <summary>It stays above all night: midnight sun, or a summer night that never gets this dark.</summary>
    StaysAbove,

    /// <summary>It stays below even at noon: polar night.</summary>
    StaysBelow,
}

/// <summary>The window with the sun below a level.</summary>
/// <param name="Case">Whether there are crossings.</param>
/// <param name="Below">The window; null when the sun stays above; noon to noon when it stays below.</param>
public readonly record struct SunBelow(SunCase Case, TimeWindow? Below);

/// <summary>The night that begins on a date, from local mean solar noon to the next.</summary>
/// <remarks>Sun times within 1.2 s, moon times within 11 s of the ERFA-derived crossing on 500 nights
/// (ErfaTests; the need is 20 s). For a sea-level horizon; from a mountain the horizon is lower.</remarks>
public sealed class DarkHours
{
    private const double SunStepMinutes = 20;

    private DarkHours(Site site, DateOnly date, TimeWindow span)
    {
        Site = site;
        Date = date;
        Span = span;
    }

    public Site Site { get; }

    /// <summary>The local date of the evening.</summary>
    public DateOnly Date { get; }

    /// <summary>Local mean noon to local mean noon.</summary>
    public TimeWindow Span { get; }

    /// <summary>The date of the night that goes on at a moment, or comes next: until six in the morning of mean solar
    /// time the one that began the day before. The date of a clock in another zone would be a night off.</summary>
    /// <param name="utc">The moment.</param>
    /// <param name="longitudeEastDeg">The site's longitude, degrees.</param>
    public static DateOnly EveningAt(DateTimeOffset utc, double longitudeEastDeg) =>
        DateOnly.FromDateTime(utc.UtcDateTime.AddHours((longitudeEastDeg / 15) - 6));

    public static DarkHours Of(Site site, DateOnly date)
    {
        Instant noon = Instant.FromUtc(new DateTimeOffset(date, new TimeOnly(12, 0), TimeSpan.Zero))
            .PlusHours(-site.LongitudeEast.Hours);
        return new DarkHours(site, date, new TimeWindow(noon, noon.PlusDays(1)));
    }

    public static Angle SunAltitude(SunLevel level) => level switch
    {
        SunLevel.SunsetSunrise => Angle.FromArcminutes(-50),
        SunLevel.Civil => Angle.FromDegrees(-6),
        SunLevel.Nautical => Angle.FromDegrees(-12),
        SunLevel.Astronomical => Angle.FromDegrees(-18),
        _ => throw new ArgumentOutOfRangeException(nameof(level), level, "No such twilight."),
    };

    /// <summary>When the sun is below a level.</summary>
    public SunBelow SunBelow(SunLevel level)
    {
        double limit = SunAltitude(level).Radians;
        IReadOnlyList<TimeWindow> below =
            Crossings.Above(t => limit - Sun.AltAz(t, Site).Altitude.Radians, Span, SunStepMinutes);
        if (below.Count == 0)
        {
            return new SunBelow(SunCase.StaysAbove, null);
        }
        // Near polar night the sun can be up for a short time just before or after noon: the longest window is the
        // night.
        TimeWindow longest = below.MaxBy(s => s.Hours);
        return new SunBelow(longest.Hours > 24 - 1e-6 ? SunCase.StaysBelow : SunCase.GoesBelow, longest);
    }

    /// <summary>Sun more than 18 degrees below the horizon, or null if it never is.</summary>
    public TimeWindow? Dark() => SunBelow(SunLevel.Astronomical).Below;

    /// <summary>Moonrises and moonsets (upper limb, refraction 34 arcmin), in time order.</summary>
    public IReadOnlyList<Crossing> MoonCrossings() => Crossings.Find(MoonHeight, Span, SunStepMinutes);

    /// <summary>Dark windows without the moon above the horizon.</summary>
    public IReadOnlyList<TimeWindow> DarkWithoutMoon() => Dark() is not { } dark
        ? Array.Empty<TimeWindow>()
        : Crossings.Above(t => -MoonHeight(t), dark, SunStepMinutes);

    private double MoonHeight(Instant t) => (Moon.AltAz(t, Site).Altitude
        + Angle.FromArcminutes(34) + Moon.Semidiameter(t, Site)).Radians;
}
