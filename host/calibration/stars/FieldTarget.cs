using Hourhinge.Calibration.Readings;
using Hourhinge.Numerics;
using Hourhinge.Rig;
using Hourhinge.Sky.Bodies;
using Hourhinge.Sky.Observing;
using Hourhinge.Sky.Places;
using Hourhinge.Sky.Time;

namespace Hourhinge.Calibration.Stars;

/// <summary>Where a field is: a catalogue place, or declination and hour angle at the first frame's start.</summary>
/// <param name="Given">As the user gave it, for messages.</param>
/// <param name="Place">Catalogue place; null where declination and hour angle are given.</param>
/// <param name="GivenDeclination">Of date; ignored with a place.</param>
/// <param name="GivenHourAngle">West positive; ignored with a place.</param>
public sealed record FieldTarget(string Given, CataloguePlace? Place, Angle GivenDeclination, Angle GivenHourAngle)
{
    private const double MinAltitudeDeg = 5;

    /// <summary>Declination of date.</summary>
    public Angle Declination(DateTime utc) => Place is { } place
        ? ApparentPlace.Of(place, At(utc)).Declination
        : GivenDeclination;

    /// <summary>Hour angle at a moment; the first frame of the night began some seconds before it.</summary>
    public Angle HourAngle(DateTime utc, SiteData site, double sinceFirstSec) => Place is { } place
        ? Horizon.HourAngle(ApparentPlace.Of(place, At(utc)), At(utc),
            Site.FromDegrees(site.LatitudeDeg, site.LongitudeDeg, site.HeightM)).HourAngle
        : GivenHourAngle + new Angle(Horizon.RotationRadPerSecond * sinceFirstSec);

    /// <summary>Checks that a field, named for messages, was above the horizon: it is not with a wrong sign or a clock
    /// of another zone.</summary>
    /// <exception cref="MeasurementException">Altitude below 5 degrees.</exception>
    public static void CheckAltitude(string given, Angle declination, Angle hourAngle, SiteData site)
    {
        double altitude = Horizon.FromHourAngle(new HourAngleDeclination(hourAngle, declination),
            Angle.FromDegrees(site.LatitudeDeg)).Altitude.Degrees;
        if (altitude < MinAltitudeDeg)
        {
            throw new MeasurementException(
                $"{given}: at altitude {altitude:0}° as seen from the rig file's site; it must be {MinAltitudeDeg:0}° "
                + "to 90°. Check signs, [site], and the zone of the camera's clock (--utc-offset).");
        }
    }

    private static Instant At(DateTime utc) => Instant.FromUtc(new DateTimeOffset(utc, TimeSpan.Zero));
}
