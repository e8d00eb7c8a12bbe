// Rate and declination drift of a refracted star about the hinge axis.

using System;

namespace Hourhinge.SharedMath.Geometry;

/// <summary>Where the hinge axis points.</summary>
public enum AxisAim
{
    /// <summary>
    /// At the celestial pole itself, as for an axis that was set by instruments which refraction does not affect (a
    /// level and a compass), or corrected by an axis error that is stated from the true pole.
    /// </summary>
    TruePole,

    /// <summary>
    /// At the place where the pole is seen through the air, as for an axis that was aimed at the sky by eye or by
    /// drift. Hourhinge assumes this one wherever nothing else is said.
    /// </summary>
    RefractedPole,
}

/// <summary>
/// Motion of a refracted star about an axis in the meridian, per radian of the Earth's rotation. Immutable.
/// </summary>
/// <remarks>
/// Derivation. In the horizon's axes (south S, west W, up U) a star of declination δ and hour angle H is at
///   S = cosδ cosH sinφ − sinδ cosφ,  W = cosδ sinH,  U = cosδ cosH cosφ + sinδ sinφ = cos z
/// (spherical triangle pole-zenith-star; Meeus, Astronomical Algorithms, 2nd edition, chapter 13). Refraction R(z)
/// moves it up its vertical circle to z' = z − R, so the seen direction is
///   s' = (g S, g W, cos z'),  g = sin z' / sin z.
/// With dots for d/dH: ż = W cosφ / sin z, ż' = (1 − dR/dz) ż, ġ = (cos z' ż' − g cos z ż) / sin z, and
///   ṡ' = (ġ S + g Ṡ, ġ W + g Ẇ, −sin z' ż').
/// About an axis p = (−cosφ', 0, sinφ'), with φ' the signed altitude of the axis, the star turns at the rate
///   f = p·(s' × ṡ') / (1 − (p·s')²)   (the axes S, W, U are left-handed, as the turn of the sky about the pole is)
/// and its declination changes at p·ṡ' / √(1 − (p·s')²). The true pole has φ' = φ, the refracted one |φ'| = |φ| + R. At
/// the zenith R = k z, so g = 1 − k there. About the true pole f = 1 − k overhead (−282 ppm in standard air). About the
/// refracted pole f = 1 overhead, because refraction shrinks the distance from the pole in the same proportion. Which
/// to use: see <see cref="AxisAim"/>. The difference is R(φ) tanδ cosH, with R(φ) the refraction at the pole: 0 on the
/// celestial equator and at H = ±6 h, 282 ppm overhead (15" an hour times cosδ), and more nearer the pole. Accuracy
/// against ERFA's observed places (eraApco13, eraAtioq; RefractedRotationTests) along an hour, at 290 places and
/// latitudes −35° to 60°, on the sky: rate within 3.3 ppm and position within 0.2" an hour above 30° altitude, 13 ppm
/// and 0.8" an hour from 15° to 30°. Real air differs from standard air by more: 1 % of density is 1 % of 1 − f.
/// </remarks>
public sealed class RefractedRotation
{
    private const double NearZenith = 1e-7;
    private const double SlopeStepRad = 1e-4;

    /// <summary>Computes the motion at one place.</summary>
    /// <param name="latitudeRad">Geographic latitude, north positive, radians; its sign selects the pole.</param>
    /// <param name="declinationRad">True declination, radians.</param>
    /// <param name="hourAngleRad">True hour angle, west positive, radians.</param>
    /// <param name="airDensity">Density of the air relative to 1010 hPa and 10 °C; 0 for no refraction.</param>
    /// <param name="aim">Where the axis points.</param>
    public RefractedRotation(
        double latitudeRad, double declinationRad, double hourAngleRad, double airDensity, AxisAim aim)
    {
        double sinLat = Math.Sin(latitudeRad);
        double cosLat = Math.Cos(latitudeRad);
        double towardMeridian = Math.Cos(declinationRad) * Math.Cos(hourAngleRad);
        double west = Math.Cos(declinationRad) * Math.Sin(hourAngleRad);
        double south = (towardMeridian * sinLat) - (Math.Sin(declinationRad) * cosLat);
        double up = (towardMeridian * cosLat) + (Math.Sin(declinationRad) * sinLat);
        double sinZ = Math.Sqrt((south * south) + (west * west));
        double altitude = Math.Atan2(up, sinZ);
        double seenAltitude = altitude + StandardRefraction.FromTrueRad(altitude, airDensity);
        // dz'/dz = 1 - dR/dz = 1 + dR/d(altitude).
        double stretch = 1 + ((StandardRefraction.FromTrueRad(altitude + SlopeStepRad, airDensity)
            - StandardRefraction.FromTrueRad(altitude - SlopeStepRad, airDensity)) / (2 * SlopeStepRad));

        double g = stretch;
        double gRate = 0;
        double upRate = 0;
        if (NearZenith < sinZ)
        {
            double zenithRate = west * cosLat / sinZ;
            g = Math.Cos(seenAltitude) / sinZ;
            gRate = ((Math.Sin(seenAltitude) * stretch) - (g * up)) * zenithRate / sinZ;
            upRate = -Math.Cos(seenAltitude) * stretch * zenithRate;
        }

        double s = g * south;
        double w = g * west;
        double u = Math.Sin(seenAltitude);
        double sRate = (gRate * south) - (g * west * sinLat);
        double wRate = (gRate * west) + (g * towardMeridian);

        double axis = AxisLatitudeRad(latitudeRad, airDensity, aim);
        double axisSouth = -Math.Cos(axis);
        double axisUp = Math.Sin(axis);
        double sinDec = (axisSouth * s) + (axisUp * u);
        double cosDecSquared = 1 - (sinDec * sinDec);
        double turn = (axisSouth * ((w * upRate) - (u * wRate))) + (axisUp * ((s * wRate) - (w * sRate)));
        RateFactor = turn / cosDecSquared;
        DeclinationRate = ((axisSouth * sRate) + (axisUp * upRate)) / Math.Sqrt(cosDecSquared);
    }

    /// <summary>Rate of the seen hour angle about the axis over the Earth's rotation rate; 1 without air. Not a number
    /// for a star exactly on the axis.</summary>
    public double RateFactor { get; }

    /// <summary>Rate of the seen declination about the axis, radians per radian of the Earth's rotation; 0 without
    /// air.</summary>
    public double DeclinationRate { get; }

    // The signed altitude of the axis: the latitude, or farther from 0 by the pole's refraction.
    private static double AxisLatitudeRad(double latitudeRad, double airDensity, AxisAim aim)
    {
        if (aim == AxisAim.TruePole)
        {
            return latitudeRad;
        }

        return latitudeRad < 0
            ? latitudeRad - StandardRefraction.FromTrueRad(-latitudeRad, airDensity)
            : latitudeRad + StandardRefraction.FromTrueRad(latitudeRad, airDensity);
    }
}
