// How the air lifts the sky, and how much light it takes.
using Hourhinge.Numerics;
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

    /// <summary>Density against the standard air of the formulas.</summary>
    internal double Factor => PressureHpa / 1010 * 283 / (273 + TemperatureC);

    /// <summary>The usual air at a height: pressure by the barometric formula, scale height 8.4 km.</summary>
    public static Air AtHeight(double heightM, double temperatureC = 10) =>
        new Air(1013.25 * Math.Exp(-heightM / 8400), temperatureC);
}

/// <summary>Refraction in altitude: one curve and its exact inverse.</summary>
/// <remarks>
/// Sources: below 15 degrees Bennett, Journal of Navigation 35 (1982) 255, with his second correction; above 25
/// degrees the two-term series in the tangent of zenith distance (58.294, -0.0668 arcsec, Smart's constants); both as
/// in Meeus, Astronomical Algorithms, 2nd edition, chapter 16. Between, one fades into the other (they differ by less
/// than 1.2 arcsec), because the drift of a star depends on the slope and Bennett's form leaves -0.9 arcsec overhead.
/// Against erfa.refco (0.55 micrometre, 50 % humidity; ErfaTests): 1.8 arcsec above 15 degrees, 3.1 above 10.
/// Near the horizon real air differs by far more than any formula. Below -1 degree the value at -1 degree is held.
/// </remarks>
public static class Refraction
{
    private static readonly Angle _lowest = Angle.FromDegrees(-1);

    /// <summary>Refraction to subtract from an apparent altitude.</summary>
    public static Angle FromApparent(Angle apparentAltitude, Air air)
    {
        double h = Math.Max(apparentAltitude.Degrees, _lowest.Degrees);
        double fade = Math.Clamp((h - 15) / 10, 0, 1);
        fade *= fade * (3 - (2 * fade));
        double arcsec = (fade < 1 ? (1 - fade) * Bennett(h) : 0) + (fade > 0 ? fade * TwoTerms(h) : 0);
        return Angle.FromArcseconds(arcsec * air.Factor);
    }

    /// <summary>Refraction to add to a true altitude: <see cref="FromApparent"/> undone, within 1e-6 arcsec.</summary>
    public static Angle FromTrue(Angle trueAltitude, Air air)
    {
        Angle apparent = trueAltitude;
        // The slope is -0.15 at worst, on the horizon, so each round gains almost a digit.
        for (int round = 0; round < 14; round++)
        {
            apparent = trueAltitude + FromApparent(apparent, air);
        }

        return apparent - trueAltitude;
    }

    private static double Bennett(double h)
    {
        double arcmin = 1 / Math.Tan(Angle.FromDegrees(h + (7.31 / (h + 4.4))).Radians);
        return 60 * (arcmin - (0.06 * Math.Sin(Angle.FromDegrees((14.7 * arcmin) + 13).Radians)));
    }

    private static double TwoTerms(double h)
    {
        double tangent = Math.Tan(Angle.FromDegrees(90 - h).Radians);
        return (58.294 * tangent) - (0.0668 * tangent * tangent * tangent);
    }

    /// <summary>A true place as it is seen.</summary>
    public static Horizontal Apply(Horizontal place, Air air) =>
        place with { Altitude = place.Altitude + FromTrue(place.Altitude, air) };

    /// <summary>Undoes <see cref="Apply"/>; used for turning a seen place into a true one.</summary>
    public static Horizontal Remove(Horizontal seen, Air air) =>
        seen with { Altitude = seen.Altitude - FromApparent(seen.Altitude, air) };
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
