// Rates that a hinge can follow.

using System;

namespace Hourhinge.SharedMath.Geometry;

/// <summary>Apparent angular rates about the celestial pole, in radians per second of UTC (SI).</summary>
public static class SkyRate
{
    private const double LowestAltitudeDeg = 10;

    /// <summary>
    /// Stars: the Earth's nominal rotation rate, 7.292115e-5 rad/s = 15.041067 arcsec/s.
    /// Source: IERS Conventions (2010), IERS Technical Note 36, table 1.2 (nominal mean angular velocity).
    /// </summary>
    public const double SiderealRadPerSec = 7.292115e-5;

    /// <summary>Sun: one turn in a mean solar day of 86400 s, 15 arcsec/s.</summary>
    public const double SolarRadPerSec = 2 * Math.PI / 86400;

    /// <summary>
    /// Moon, mean: the star rate less the moon's mean motion of one turn in the sidereal month of 27.321661 days,
    /// 14.492 arcsec/s. The true rate varies by about ±0.5 % of this within a month.
    /// </summary>
    public const double LunarRadPerSec = SiderealRadPerSec - (2 * Math.PI / (27.321661 * 86400));

    /// <summary>
    /// Rate at which to turn the hinge for a refracted star over the Earth's rotation rate: the rate of its hour angle
    /// about the refracted pole, in standard air (1010 hPa, 10 °C). Derivation: <see cref="RefractedRotation"/>. Right
    /// for an axis that was aimed at the sky by eye or by drift. For an axis on the true pole the rate is lower by R(φ)
    /// tanδ cosH, 282 ppm overhead. Accuracy against ERFA's observed places over an hour of tracking
    /// (RefractedRotationTests): on the sky within
    /// 0.2 arcsec an hour (3.3 ppm) above 30° altitude and 0.8 arcsec an hour (13 ppm) from 15° to 30°, in the same
    /// air.
    /// </summary>
    /// <param name="latitudeRad">Geographic latitude, north positive, radians.</param>
    /// <param name="declinationRad">Target's declination, radians.</param>
    /// <param name="hourAngleRad">Target's true hour angle at the middle of the run, west positive, radians.</param>
    /// <returns>1 overhead; at latitude 45° 0.9995 at 30° altitude on the meridian; 1 where the target is below 10°
    /// altitude, where refraction cannot be predicted.</returns>
    public static double RefractionRateFactor(double latitudeRad, double declinationRad, double hourAngleRad)
    {
        if (!(Math.Sin(AngleUnits.FromDeg(LowestAltitudeDeg))
            <= SinAltitude(latitudeRad, declinationRad, hourAngleRad)))
        {
            return 1;
        }

        return new RefractedRotation(latitudeRad, declinationRad, hourAngleRad, 1, AxisAim.RefractedPole).RateFactor;
    }

    /// <summary>Sine of the altitude without refraction: spherical triangle of pole, zenith and star.</summary>
    /// <param name="latitudeRad">Geographic latitude, north positive, radians.</param>
    /// <param name="declinationRad">Declination, radians.</param>
    /// <param name="hourAngleRad">Hour angle, west positive, radians.</param>
    public static double SinAltitude(double latitudeRad, double declinationRad, double hourAngleRad)
    {
        return (Math.Sin(latitudeRad) * Math.Sin(declinationRad))
            + (Math.Cos(latitudeRad) * Math.Cos(declinationRad) * Math.Cos(hourAngleRad));
    }
}
