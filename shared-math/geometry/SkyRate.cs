// How fast the sky turns: the rates a hinge can be asked to follow. No hinge, no motor here.

using System;

namespace Hourhinge.SharedMath.Geometry;

/// <summary>Apparent angular rates about the celestial pole, in radians per second of UTC (SI).</summary>
public static class SkyRate
{
    /// <summary>
    /// Stars: the Earth's nominal rotation rate, 7.292115e-5 rad/s = 15.041067 arcsec/s.
    /// Source: IERS Conventions (2010), IERS Technical Note 36, table 1.2 (nominal mean angular velocity).
    /// </summary>
    public const double SiderealRadPerSec = 7.292115e-5;

    /// <summary>Sun: one turn in a mean solar day of 86400 s, 15 arcsec/s.</summary>
    public const double SolarRadPerSec = 2 * Math.PI / 86400;

    /// <summary>
    /// Moon, mean: the star rate less the moon's mean motion of one turn in the sidereal month of 27.321661 days,
    /// 14.492 arcsec/s. The true rate wanders by about ±0.5 % of this within a month.
    /// </summary>
    public const double LunarRadPerSec = SiderealRadPerSec - (2 * Math.PI / (27.321661 * 86400));

    /// <summary>
    /// Refraction of a star by the standard atmosphere (1010 hPa, 10 °C), two-term form
    /// R = 58.294" tan z − 0.0668" tan³ z. Source: W. M. Smart, Textbook on Spherical Astronomy, ch. III
    /// (constants from memory). Good to about 1" above 15° altitude; z is held at 80° below that.
    /// </summary>
    /// <param name="zenithDistanceRad">True zenith distance, radians.</param>
    /// <returns>How much higher the star appears, radians.</returns>
    public static double RefractionRad(double zenithDistanceRad)
    {
        double limit = AngleUnits.FromDeg(80);
        double t = Math.Tan(zenithDistanceRad < limit ? zenithDistanceRad : limit);
        return AngleUnits.FromArcsec((58.294 * t) - (0.0668 * t * t * t));
    }

    /// <summary>
    /// Ratio of the apparent (refracted) hour-angle rate to the true one for a target at a site: refraction lifts a
    /// star less as it climbs, so the sky seems to turn more slowly. Central difference of the refracted hour angle
    /// over two minutes, taken about the refracted pole, which stands about cot(latitude) arcminutes above the true
    /// one:
    /// that is where an axis points that was aimed by eye or by drift.
    /// Checked against ERFA to 2.5 % of the departure from 1 (tests/reference/shared-math/make_refraction_rate.py).
    /// </summary>
    /// <param name="latitudeRad">Geographic latitude, north positive, radians.</param>
    /// <param name="declinationRad">Target's declination, radians.</param>
    /// <param name="hourAngleRad">Target's true hour angle, west positive, radians.</param>
    /// <returns>About 0.9997 near the zenith; 1 where the target is below 10° altitude and refraction means
    /// nothing.</returns>
    public static double RefractionRateFactor(double latitudeRad, double declinationRad, double hourAngleRad)
    {
        double step = SiderealRadPerSec * 60;
        double before = RefractedHourAngleRad(latitudeRad, declinationRad, hourAngleRad - step);
        double after = RefractedHourAngleRad(latitudeRad, declinationRad, hourAngleRad + step);
        return (after - before) / (2 * step);
    }

    private static double RefractedHourAngleRad(double latitudeRad, double declinationRad, double hourAngleRad)
    {
        // Unit vector of the star: south, west, up.
        double cosDec = Math.Cos(declinationRad);
        double sinDec = Math.Sin(declinationRad);
        double sinLat = Math.Sin(latitudeRad);
        double cosLat = Math.Cos(latitudeRad);
        double towardMeridian = cosDec * Math.Cos(hourAngleRad);
        double west = cosDec * Math.Sin(hourAngleRad);
        double south = (towardMeridian * sinLat) - (sinDec * cosLat);
        double up = (towardMeridian * cosLat) + (sinDec * sinLat);

        double horizontal = Math.Sqrt((south * south) + (west * west));
        double altitude = Math.Atan2(up, horizontal);
        if (altitude < AngleUnits.FromDeg(10) || horizontal < 1e-9)
        {
            return hourAngleRad;
        }

        double apparent = altitude + RefractionRad((Math.PI / 2) - altitude);
        double stretch = Math.Cos(apparent) / horizontal;
        south *= stretch;
        west *= stretch;
        up = Math.Sin(apparent);
        double pole = latitudeRad > 0 ? latitudeRad : -latitudeRad;
        double poleSeen = pole + (pole < AngleUnits.FromDeg(10) ? 0 : RefractionRad((Math.PI / 2) - pole));
        double latitudeSeen = latitudeRad > 0 ? poleSeen : -poleSeen;
        double refracted = Math.Atan2(west, (south * Math.Sin(latitudeSeen)) + (up * Math.Cos(latitudeSeen)));

        // Keep on the same turn as the true hour angle, so that differences across ±12 h stay small.
        while (refracted - hourAngleRad > Math.PI)
        {
            refracted -= 2 * Math.PI;
        }

        while (refracted - hourAngleRad < -Math.PI)
        {
            refracted += 2 * Math.PI;
        }

        return refracted;
    }
}
