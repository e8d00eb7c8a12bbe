// The pole star through one night, at the full hours of the site's clock.
using Hourhinge.Numerics;
using Hourhinge.Sky.Bodies;
using Hourhinge.Sky.Observing;
using Hourhinge.Sky.Places;
using Hourhinge.Sky.Time;

namespace Hourhinge.Sky.Planning;

/// <summary>Where the pole star stands at one time.</summary>
public sealed record PoleHour(Instant Time, PoleSighting Seen)
{
    /// <summary>Where the pole lies, seen from the star, as an hour hand's time.</summary>
    public string PoleTowards => (Seen with { Clock = (Seen.Clock + new Angle(Math.PI)).Wrapped() }).HandText();
}

/// <summary>The star nearest to the pole above the horizon, hour by hour.</summary>
public sealed class PoleEvening
{
    private const double EarlyMinutes = 120;

    /// <summary>Computes a night. <paramref name="local"/> turns UTC into the clock whose full hours count.</summary>
    public PoleEvening(Site site, DateOnly evening, Air air, Func<DateTimeOffset, DateTimeOffset> local)
    {
        ArgumentNullException.ThrowIfNull(local);
        var night = DarkHours.Of(site, evening);
        Window = night.SunBelow(SunLevel.Civil).Below;
        MidTime = Window is { } w ? w.Start.PlusMinutes(Math.Min(w.Hours * 30, EarlyMinutes)) : night.Span.Start;
        Star = PoleStar.For(site).MinBy(s => PoleView.Of(s.Place, MidTime, site, air).Distance.Radians)!;
        Hours = Window is { } window
            ? [.. FullHours(window, local).Select(t => new PoleHour(t, PoleView.Of(Star.Place, t, site, air)))]
            : [];
    }

    /// <summary>Sun more than 6° down, when stars can be seen; null when there is no such time.</summary>
    public TimeWindow? Window { get; }

    /// <summary>Two hours into that time, or its middle when it is shorter than four hours.</summary>
    public Instant MidTime { get; }

    /// <summary>The star nearest to the pole then.</summary>
    public PoleStar Star { get; }

    /// <summary>Full hours in that time; empty when there are none.</summary>
    public IReadOnlyList<PoleHour> Hours { get; }

    private static IEnumerable<Instant> FullHours(TimeWindow window, Func<DateTimeOffset, DateTimeOffset> local)
    {
        DateTimeOffset start = local(window.Start.ToUtc());
        // A few milliseconds behind the hour, so that rounding does not show the minute before it.
        double toNext = ((60 - (start.TimeOfDay.TotalMinutes % 60)) % 60) + 0.0005;
        for (Instant t = window.Start.PlusMinutes(toNext); t.MinutesSince(window.End) <= 0; t = t.PlusMinutes(60))
        {
            yield return t;
        }
    }
}
