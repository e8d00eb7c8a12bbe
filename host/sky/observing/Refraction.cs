// What the air does to starlight: refraction and extinction.
using Hourhinge.Numerics;
using Hourhinge.SharedMath.Geometry;
using Hourhinge.Sky.Places;

namespace Hourhinge.Sky.Observing;

/// <summary>The air at the site. Ranges: 300 to 1100 hPa, -60 to 50 degrees Celsius.</summary>
/// <param name="PressureHpa">Pressure at the site itself, not reduced to sea level.</param>
/// <param name="TemperatureC">Air temperature.</param>
public readonly record struct Air(double PressureHpa, double TemperatureC)
{
    public static Air Standard => new Air(1010, 10);

    /// <summary>No air: no refraction.</summary>
    public static Air None => new Air(0, 10);

    /// <summary>Density relative to 1010 hPa and 10 degrees Celsius.</summary>
    internal double Density => PressureHpa / 1010 * 283 / (273 + TemperatureC);

    /// <summary>The usual air at a height: pressure by the barometric formula, scale height 8.4 km.</summary>
    public static Air AtHeight(double heightM, double temperatureC = 10) =>
        new Air(1013.25 * Math.Exp(-heightM / 8400), temperatureC);
}

/// <summary>Refraction in altitude. Formula, sources and accuracy: <see cref="StandardRefraction"/>.</summary>
public static class Refraction
{
    /// <summary>Refraction to subtract from an apparent altitude.</summary>
    public static Angle FromApparent(Angle apparentAltitude, Air air) =>
        new Angle(StandardRefraction.FromApparentRad(apparentAltitude.Radians, air.Density));

    /// <summary>Refraction to add to a true altitude: the inverse of <see cref="FromApparent"/>.</summary>
    public static Angle FromTrue(Angle trueAltitude, Air air) =>
        new Angle(StandardRefraction.FromTrueRad(trueAltitude.Radians, air.Density));

    /// <summary>The observed place of a true place.</summary>
    public static Horizontal Apply(Horizontal place, Air air) =>
        place with { Altitude = place.Altitude + FromTrue(place.Altitude, air) };
}

/// <summary>Air mass and the light it takes away.</summary>
public static class Airmass
{
    /// <summary>Relative air mass, 1 at the zenith, about 38 at the horizon.</summary>
    /// <param name="apparentAltitude">0 to 90 degrees; lower gives infinity: the ground is in the way.</param>
    /// <remarks>Source: Kasten and Young, Applied Optics 28 (1989) 4735; 0.5 % at the horizon by their table.</remarks>
    public static double At(Angle apparentAltitude)
    {
        double h = apparentAltitude.Degrees;
        return h < 0
            ? double.PositiveInfinity
            : 1 / (apparentAltitude.Sin() + (0.50572 * Math.Pow(h + 6.07995, -1.6364)));
    }

    /// <summary>Loss in magnitudes at an altitude.</summary>
    /// <param name="apparentAltitude">0 to 90 degrees.</param>
    /// <param name="magnitudesPerAirmass">
    /// About 0.15 on a clear mountain, 0.25 at a good lowland site, 0.4 in haze, visual (common practice, no source).
    /// </param>
    public static double ExtinctionMagnitudes(Angle apparentAltitude, double magnitudesPerAirmass = 0.25) =>
        At(apparentAltitude) * magnitudesPerAirmass;
}
