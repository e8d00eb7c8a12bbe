// A target through the night: altitude, air mass, distance from the moon, and when it is high enough.
// Not here: the timetable of runs (RunTimetable.cs), the weeks of the year (YearView.cs).
using Hourhinge.Numerics;
using Hourhinge.Sky.Bodies;
using Hourhinge.Sky.Observing;
using Hourhinge.Sky.Places;
using Hourhinge.Sky.Time;

namespace Hourhinge.Sky.Planning;

/// <summary>One moment of a target's night.</summary>
/// <param name="Time">When.</param>
/// <param name="Place">True hour angle and declination of date.</param>
/// <param name="Observed">Altitude with refraction, and azimuth.</param>
/// <param name="Airmass">Infinite below the horizon.</param>
/// <param name="ExtinctionMagnitudes">Infinite below the horizon.</param>
/// <param name="SunAltitude">True.</param>
/// <param name="MoonAltitude">True, topocentric.</param>
/// <param name="MoonSeparation">Target to moon, topocentric.</param>
public readonly record struct TrackPoint(
    Instant Time, HourAngleDeclination Place, Horizontal Observed, double Airmass, double ExtinctionMagnitudes,
    Angle SunAltitude, Angle MoonAltitude, Angle MoonSeparation);

/// <summary>A target seen from a site.</summary>
public sealed class TargetTrack(CataloguePlace target, Site site, Air air, double extinctionMagnitudesPerAirmass = 0.25)
{
    private const double StepMinutes = 10;

    /// <summary>Position and conditions at one moment.</summary>
    public TrackPoint At(Instant t)
    {
        Equatorial apparent = ApparentPlace.Of(target, t);
        HourAngleDeclination place = Horizon.HourAngle(apparent, t, site);
        Horizontal seen = Refraction.Apply(Horizon.FromHourAngle(place, site.Latitude), air);
        Equatorial moon = Moon.Topocentric(t, site);
        return new TrackPoint(t, place, seen, Airmass.At(seen.Altitude),
            Airmass.ExtinctionMagnitudes(seen.Altitude, extinctionMagnitudesPerAirmass),
            Sun.AltAz(t, site).Altitude, Horizon.FromEquatorial(moon, t, site).Altitude,
            apparent.SeparationFrom(moon));
    }

    /// <summary>The window in equal steps, with both ends.</summary>
    public IReadOnlyList<TrackPoint> Through(TimeWindow window, double stepMinutes)
    {
        ArgumentOutOfRangeException.ThrowIfNegativeOrZero(stepMinutes);
        var points = new List<TrackPoint>();
        for (Instant t = window.Start; t < window.End; t = t.PlusMinutes(stepMinutes))
        {
            points.Add(At(t));
        }

        points.Add(At(window.End));
        return points;
    }

    /// <summary>The parts of a window in which the observed target is at or above an altitude.</summary>
    public IReadOnlyList<TimeWindow> Above(Angle altitude, TimeWindow window) =>
        Crossings.Above(t => (ObservedAltitude(t) - altitude).Radians, window, StepMinutes);

    /// <summary>Upper transits in a window: the hour angle passes 0.</summary>
    public IReadOnlyList<Instant> Transits(TimeWindow window) =>
        [.. Crossings.Find(t => HourAngle(t).Sin(), window, StepMinutes)
            .Where(c => c.IsRising).Select(c => c.Time)];

    /// <summary>The greatest altitude that the target reaches from this site, without refraction.</summary>
    public Angle MaxAltitude(Instant epoch) => new Angle(Math.PI / 2)
        - (site.Latitude - ApparentPlace.Of(target, epoch).Declination).Abs();

    private Angle HourAngle(Instant t) => Horizon.HourAngle(ApparentPlace.Of(target, t), t, site).HourAngle;

    private Angle ObservedAltitude(Instant t) =>
        Refraction.Apply(ApparentPlace.AltAz(target, t, site), air).Altitude;
}
