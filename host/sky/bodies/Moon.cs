// Place, distance and phase of the moon.
// Not here: moonrise (planning/DarkHours.cs).
using Hourhinge.Numerics;
using Hourhinge.Sky.Observing;
using Hourhinge.Sky.Places;
using Hourhinge.Sky.Time;

namespace Hourhinge.Sky.Bodies;

/// <summary>The moon's place from the largest terms of a published series.</summary>
/// <remarks>
/// Source: ELP-2000/82 as shortened in Meeus, Astronomical Algorithms, 2nd edition, chapter 47, tables 47.A and
/// 47.B, terms above 0.002 degree. Accuracy against erfa.moon98, topocentric, 500 epochs (ErfaTests):
/// 0.019 degree, distance 26 km; the need is 0.1 degree. moon98 is the same theory with all its terms.
/// </remarks>
public static class Moon
{
    private const double EarthRadiusKm = 6378.137;
    private const double AuKm = 149597870.7;

    // Multiples of D, M, M', F; then 1e-6 degree in longitude (sine), and 1e-3 km in distance (cosine).
    private static readonly int[][] _longitudeTerms =
    {
        new[] { 0, 0, 1, 0, 6288774, -20905355 }, new[] { 2, 0, -1, 0, 1274027, -3699111 },
        new[] { 2, 0, 0, 0, 658314, -2955968 }, new[] { 0, 0, 2, 0, 213618, -569925 },
        new[] { 0, 1, 0, 0, -185116, 48888 }, new[] { 0, 0, 0, 2, -114332, -3149 },
        new[] { 2, 0, -2, 0, 58793, 246158 }, new[] { 2, -1, -1, 0, 57066, -152138 },
        new[] { 2, 0, 1, 0, 53322, -170733 }, new[] { 2, -1, 0, 0, 45758, -204586 },
        new[] { 0, 1, -1, 0, -40923, -129620 }, new[] { 1, 0, 0, 0, -34720, 108743 },
        new[] { 0, 1, 1, 0, -30383, 104755 }, new[] { 2, 0, 0, -2, 15327, 10321 },
        new[] { 0, 0, 1, 2, -12528, 0 }, new[] { 0, 0, 1, -2, 10980, 79661 },
        new[] { 4, 0, -1, 0, 10675, -34782 }, new[] { 0, 0, 3, 0, 10034, -23210 },
        new[] { 4, 0, -2, 0, 8548, -21636 }, new[] { 2, 1, -1, 0, -7888, 24208 },
        new[] { 2, 1, 0, 0, -6766, 30824 }, new[] { 1, 0, -1, 0, -5163, -8379 },
        new[] { 1, 1, 0, 0, 4987, -16675 }, new[] { 2, -1, 1, 0, 4036, -12831 },
        new[] { 2, 0, 2, 0, 3994, -10445 }, new[] { 4, 0, 0, 0, 3861, -11650 },
        new[] { 2, 0, -3, 0, 3665, 14403 }, new[] { 0, 1, -2, 0, -2689, -7003 },
        new[] { 2, 0, -1, 2, -2602, 0 }, new[] { 2, -1, -2, 0, 2390, 10056 },
        new[] { 1, 0, 1, 0, -2348, 6322 }, new[] { 2, -2, 0, 0, 2236, -9884 },
        new[] { 0, 1, 2, 0, -2120, 5751 }, new[] { 0, 2, 0, 0, -2069, 0 },
    };

    // Multiples of D, M, M', F; then 1e-6 degree in latitude (sine).
    private static readonly int[][] _latitudeTerms =
    {
        new[] { 0, 0, 0, 1, 5128122 }, new[] { 0, 0, 1, 1, 280602 }, new[] { 0, 0, 1, -1, 277693 },
        new[] { 2, 0, 0, -1, 173237 }, new[] { 2, 0, -1, 1, 55413 }, new[] { 2, 0, -1, -1, 46271 },
        new[] { 2, 0, 0, 1, 32573 }, new[] { 0, 0, 2, 1, 17198 }, new[] { 2, 0, 1, -1, 9266 },
        new[] { 0, 0, 2, -1, 8822 }, new[] { 2, -1, 0, -1, 8216 }, new[] { 2, 0, -2, -1, 4324 },
        new[] { 2, 0, 1, 1, 4200 }, new[] { 2, 1, 0, -1, -3359 }, new[] { 2, -1, -1, 1, 2463 },
        new[] { 2, -1, 0, 1, 2211 }, new[] { 2, -1, -1, -1, 2065 },
    };

    /// <summary>Geocentric longitude and latitude on the mean equinox of date, and distance.</summary>
    public static (Angle Longitude, Angle Latitude, double DistanceKm) Ecliptic(Instant t)
    {
        double c = t.TtCenturies;
        var a = LunarArguments.At(c);
        // Terms with the sun's anomaly shrink with the eccentricity of the Earth's orbit.
        double e = 1 - (c * (0.002516 + (c * 0.0000074)));
        double longitude = 0, latitude = 0, distance = 0;
        foreach (int[] term in _longitudeTerms)
        {
            (Angle angle, double scale) = Argument(term, a, e);
            longitude += term[4] * scale * angle.Sin();
            distance += term[5] * scale * angle.Cos();
        }

        foreach (int[] term in _latitudeTerms)
        {
            (Angle angle, double scale) = Argument(term, a, e);
            latitude += term[4] * scale * angle.Sin();
        }

        // Venus, Jupiter and the Earth's flattening.
        longitude += (3958 * Angle.FromDegrees(119.75 + (131.849 * c)).Sin())
            + (1962 * (a.MoonLongitude - a.LatitudeArgument).Sin());
        latitude -= 2235 * a.MoonLongitude.Sin();
        return ((a.MoonLongitude + Angle.FromDegrees(longitude * 1e-6)).Wrapped(),
            Angle.FromDegrees(latitude * 1e-6), 385000.56 + (distance * 1e-3));
    }

    /// <summary>Apparent geocentric place, true equator and equinox of date.</summary>
    public static Equatorial Apparent(Instant t) => Equatorial.FromVector(Geocentric(t).Normalized());

    /// <summary>Altitude and azimuth of the disc's centre as seen from the site, without refraction.</summary>
    public static Horizontal AltAz(Instant t, Site site) => Horizon.FromEquatorial(Topocentric(t, site), t, site);

    /// <summary>Apparent place as seen from the site: parallax (up to 1 degree) is in.</summary>
    public static Equatorial Topocentric(Instant t, Site site) =>
        Equatorial.FromVector((Geocentric(t) - Observer(t, site)).Normalized());

    /// <summary>Radius of the disc as seen from the site. Ratio to the Earth's radius 0.272481 (IAU).</summary>
    public static Angle Semidiameter(Instant t, Site site) =>
        new Angle(Math.Asin(0.272481 * EarthRadiusKm / (Geocentric(t) - Observer(t, site)).Length));

    /// <summary>Elongation, phase angle, illuminated fraction and lead in longitude, geocentric.</summary>
    /// <remarks>Source: Meeus, Astronomical Algorithms, 2nd edition, chapter 48.</remarks>
    public static MoonPhase Phase(Instant t)
    {
        Vector3 moon = Geocentric(t);
        Vector3 sun = Sun.Apparent(t).ToVector() * (Sun.DistanceAu(t) * AuKm);
        Angle elongation = Equatorial.Separation(moon, sun);
        Angle phaseAngle = Equatorial.Separation(moon * -1, sun - moon);
        Angle ahead = (Ecliptic(t).Longitude - Sun.TrueLongitude(t)).Wrapped();
        return new MoonPhase(elongation, phaseAngle, (1 + phaseAngle.Cos()) / 2, ahead);
    }

    private static (Angle Angle, double Scale) Argument(int[] term, LunarArguments a, double e) =>
        ((term[0] * a.Elongation) + (term[1] * a.SunAnomaly) + (term[2] * a.MoonAnomaly)
            + (term[3] * a.LatitudeArgument),
            Math.Pow(e, Math.Abs(term[1])));

    private static Vector3 Geocentric(Instant t)
    {
        (Angle longitude, Angle latitude, double distanceKm) = Ecliptic(t);
        var nutation = Nutation.At(t);
        return Vector3.FromSpherical(longitude + nutation.Longitude, latitude).RotateX(-nutation.TrueObliquity)
            * distanceKm;
    }

    /// <summary>The site on the WGS 84 ellipsoid (1/f = 298.257223563), true equator and equinox of date, km.</summary>
    private static Vector3 Observer(Instant t, Site site)
    {
        const double Flattening = 1 / 298.257223563;
        double squash = (1 - Flattening) * (1 - Flattening);
        double sin = site.Latitude.Sin();
        double cos = site.Latitude.Cos();
        double radius = EarthRadiusKm / Math.Sqrt((cos * cos) + (squash * sin * sin));
        double heightKm = site.HeightM / 1000;
        Angle sidereal = SiderealTime.Local(t, site);
        double outward = (radius + heightKm) * cos;
        return new Vector3(outward * sidereal.Cos(), outward * sidereal.Sin(), ((radius * squash) + heightKm) * sin);
    }
}

/// <summary>The moon's phase, seen from the Earth's centre.</summary>
/// <param name="Elongation">Angle from the sun, 0 to 180 degrees.</param>
/// <param name="PhaseAngle">Angle at the moon between sun and Earth.</param>
/// <param name="IlluminatedFraction">0 new, 1 full.</param>
/// <param name="LongitudeAheadOfSun">0 new, 90 first quarter, 180 full, 270 last quarter, degrees.</param>
public readonly record struct MoonPhase(
    Angle Elongation, Angle PhaseAngle, double IlluminatedFraction, Angle LongitudeAheadOfSun)
{
    public bool IsWaxing => LongitudeAheadOfSun.Degrees < 180;
}
