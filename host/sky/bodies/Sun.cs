// Place and distance of the sun.
// Not here: when it rises or how dark the night is (planning/DarkHours.cs).
using Hourhinge.Numerics;
using Hourhinge.Sky.Observing;
using Hourhinge.Sky.Places;
using Hourhinge.Sky.Time;

namespace Hourhinge.Sky.Bodies;

/// <summary>The sun's place from a shortened VSOP87 series.</summary>
/// <remarks>
/// Source: Bretagnon and Francou, Astronomy and Astrophysics 202 (1988) 309, theory VSOP87D (heliocentric, mean
/// equinox of date), terms of 1e-6 rad and more in longitude; use as in Meeus, Astronomical Algorithms,
/// 2nd edition, chapter 25 ("higher accuracy"). The sun's latitude (at most 1.2 arcsec) is neglected.
/// Accuracy against erfa.epv00 on 500 epochs 2020-2040 (ErfaTests): 1.8 arcsec; the need is 36.
/// </remarks>
public static class Sun
{
    private static readonly double[][] _longitude0 =
    {
        new[] { 175347046, 0, 0.0 }, new[] { 3341656, 4.6692568, 6283.0758500 }, new[] { 34894, 4.62610, 12566.15170 },
        new[] { 3497, 2.7441, 5753.3849 }, new[] { 3418, 2.8289, 3.5231 }, new[] { 3136, 3.6277, 77713.7715 },
        new[] { 2676, 4.4181, 7860.4194 }, new[] { 2343, 6.1352, 3930.2097 }, new[] { 1324, 0.7425, 11506.7698 },
        new[] { 1273, 2.0371, 529.6910 }, new[] { 1199, 1.1096, 1577.3435 }, new[] { 990, 5.233, 5884.927 },
        new[] { 902, 2.045, 26.298 }, new[] { 857, 3.508, 398.149 }, new[] { 780, 1.179, 5223.694 },
        new[] { 753, 2.533, 5507.553 }, new[] { 505, 4.583, 18849.228 }, new[] { 492, 4.205, 775.523 },
        new[] { 357, 2.920, 0.067 }, new[] { 317, 5.849, 11790.629 }, new[] { 284, 1.899, 796.298 },
        new[] { 271, 0.315, 10977.079 }, new[] { 243, 0.345, 5486.778 }, new[] { 206, 4.806, 2544.314 },
        new[] { 205, 1.869, 5573.143 }, new[] { 202, 2.458, 6069.777 }, new[] { 156, 0.833, 213.299 },
        new[] { 132, 3.411, 2942.463 }, new[] { 126, 1.083, 20.775 }, new[] { 115, 0.645, 0.980 },
    };

    private static readonly double[][] _longitude1 =
    {
        new[] { 628331966747, 0, 0.0 }, new[] { 206059, 2.678235, 6283.075850 }, new[] { 4303, 2.6351, 12566.1517 },
        new[] { 425, 1.590, 3.523 }, new[] { 119, 5.796, 26.298 }, new[] { 109, 2.966, 1577.344 },
    };

    private static readonly double[][] _longitude2 =
    {
        new[] { 52919, 0, 0.0 }, new[] { 8720, 1.0721, 6283.0758 }, new[] { 309, 0.867, 12566.152 },
    };

    private static readonly double[][] _radius0 =
    {
        new[] { 100013989, 0, 0.0 }, new[] { 1670700, 3.0984635, 6283.0758500 }, new[] { 13956, 3.05525, 12566.15170 },
        new[] { 3084, 5.1985, 77713.7715 }, new[] { 1628, 1.1739, 5753.3849 }, new[] { 1576, 2.8469, 7860.4194 },
        new[] { 925, 5.453, 11506.770 }, new[] { 542, 4.564, 3930.210 },
    };

    private static readonly double[][] _radius1 =
    {
        new[] { 103019, 1.107490, 6283.075850 }, new[] { 1721, 1.0644, 12566.1517 },
    };

    /// <summary>Geometric geocentric longitude on the mean equinox of date, [0, 360) degrees.</summary>
    public static Angle TrueLongitude(Instant t)
    {
        double m = t.TtCenturies / 10;
        double earth = (Sum(_longitude0, m) + (m * (Sum(_longitude1, m) + (m * Sum(_longitude2, m))))) * 1e-8;
        // The last term turns the dynamical equinox of VSOP87 to that of FK5.
        return (new Angle(earth + Math.PI) + Angle.FromArcseconds(-0.09033)).Wrapped();
    }

    /// <summary>Distance in astronomical units, within 1e-5.</summary>
    public static double DistanceAu(Instant t)
    {
        double m = t.TtCenturies / 10;
        return (Sum(_radius0, m) + (m * Sum(_radius1, m))) * 1e-8;
    }

    /// <summary>Apparent geocentric place: true equator and equinox of date, with aberration.</summary>
    public static Equatorial Apparent(Instant t)
    {
        var nutation = Nutation.At(t);
        Angle longitude = TrueLongitude(t) + nutation.Longitude
            - Angle.FromArcseconds(Aberration.ConstantArcsec / DistanceAu(t));
        return Equatorial.FromVector(
            Vector3.FromSpherical(longitude, Angle.Zero).RotateX(-nutation.TrueObliquity));
    }

    /// <summary>Altitude and azimuth of the sun's centre without refraction; with its parallax (9 arcsec).</summary>
    public static Horizontal AltAz(Instant t, Site site)
    {
        Horizontal geocentric = Horizon.FromEquatorial(Apparent(t), t, site);
        var parallax = Angle.FromArcseconds(8.794 / DistanceAu(t) * geocentric.Altitude.Cos());
        return geocentric with { Altitude = geocentric.Altitude - parallax };
    }

    private static double Sum(double[][] terms, double millennia)
    {
        double sum = 0.0;
        foreach (double[] term in terms)
        {
            sum += term[0] * Math.Cos(term[1] + (term[2] * millennia));
        }

        return sum;
    }
}
