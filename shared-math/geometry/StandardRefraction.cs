// Refraction in altitude: the one curve that the host and the controller use.

using System;

namespace Hourhinge.SharedMath.Geometry;

/// <summary>
/// Refraction by the air as a function of altitude, both ways.
/// Sources: above 25° apparent altitude the two-term series R = 58.294" tan z − 0.0668" tan³ z of the apparent zenith
/// distance z (W. M. Smart, Textbook on Spherical Astronomy, ch. III); below 15° Bennett, Journal of Navigation 35
/// (1982) 255, with his second correction; both as in Meeus, Astronomical Algorithms, 2nd edition, chapter 16
/// (constants from memory). Between 15° and 25° the two are blended: they differ by less than 1.2", and Bennett's form
/// alone leaves −0.9" at the zenith, which would spoil the slope that the rate of a star depends on.
/// Accuracy against erfa.refco (0.55 µm, 50 % humidity; ErfaTests): 1.8" above 15°, 3.1" above 10°. Near the horizon
/// real air differs by far more than any formula. Below −1° the value at −1° is used.
/// </summary>
public static class StandardRefraction
{
    private const double LowestDeg = -1;
    private const double BennettOnlyDeg = 15;
    private const double SeriesOnlyDeg = 25;

    // The slope of the curve is -0.15 at worst (on the horizon), so each round gains almost a digit.
    private const int Rounds = 14;

    /// <summary>Refraction at an apparent altitude, radians: what to subtract from it.</summary>
    /// <param name="apparentAltitudeRad">−π/2 to π/2.</param>
    /// <param name="airDensity">Density of the air relative to 1010 hPa and 10 °C, 0 or more.</param>
    public static double FromApparentRad(double apparentAltitudeRad, double airDensity)
    {
        double h = AngleUnits.ToDeg(apparentAltitudeRad);
        h = LowestDeg <= h ? h : LowestDeg;
        double blend = (h - BennettOnlyDeg) / (SeriesOnlyDeg - BennettOnlyDeg);
        blend = blend <= 0 ? 0 : 1 <= blend ? 1 : blend * blend * (3 - (2 * blend));
        double arcsec = blend < 1 ? (1 - blend) * BennettArcsec(h) : 0;
        arcsec += 0 < blend ? blend * SeriesArcsec(h) : 0;
        return AngleUnits.FromArcsec(arcsec * airDensity);
    }

    /// <summary>Refraction at a true altitude, radians: what to add to it. Inverts <see cref="FromApparentRad"/> within
    /// 1e-6 arcsec.</summary>
    /// <param name="trueAltitudeRad">−π/2 to π/2.</param>
    /// <param name="airDensity">Density of the air relative to 1010 hPa and 10 °C, 0 or more.</param>
    public static double FromTrueRad(double trueAltitudeRad, double airDensity)
    {
        double refraction = 0;
        for (int i = 0; i < Rounds; i++)
        {
            refraction = FromApparentRad(trueAltitudeRad + refraction, airDensity);
        }

        return refraction;
    }

    private static double BennettArcsec(double h)
    {
        double arcmin = 1 / Math.Tan(AngleUnits.FromDeg(h + (7.31 / (h + 4.4))));
        return 60 * (arcmin - (0.06 * Math.Sin(AngleUnits.FromDeg((14.7 * arcmin) + 13))));
    }

    private static double SeriesArcsec(double h)
    {
        double tangent = Math.Tan(AngleUnits.FromDeg(90 - h));
        return (58.294 * tangent) - (0.0668 * tangent * tangent * tangent);
    }
}
