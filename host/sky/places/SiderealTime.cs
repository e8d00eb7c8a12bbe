// The Earth's rotation: Earth rotation angle, mean and apparent sidereal time.
// The constants here define sidereal time; the drive's rates live in shared-math.
using Hourhinge.Numerics;
using Hourhinge.Sky.Time;

namespace Hourhinge.Sky.Places;

/// <summary>Sidereal time, IAU 2006 precession, main nutation terms.</summary>
/// <remarks>
/// Source: IERS Conventions (2010), IERS Technical Note 36, equations 5.15 (Earth rotation angle) and 5.32 (GMST).
/// Accuracy against erfa.gst06a on 500 epochs 2020-2040 (ErfaTests): 0.017 arcsec.
/// </remarks>
public static class SiderealTime
{
    private const double TurnsAtJ2000 = 0.7790572732640;
    private const double ExtraTurnsPerDay = 0.00273781191135448;

    /// <summary>Earth rotation angle, [0, 360) degrees. Given: any instant.</summary>
    public static Angle EarthRotation(Instant t)
    {
        // Integer turns are dropped before the sum to keep precision.
        double dayFraction = t.Ut1Days - Math.Floor(t.Ut1Days);
        return new Angle(Math.Tau * (dayFraction + TurnsAtJ2000 + (ExtraTurnsPerDay * t.Ut1Days))).Wrapped();
    }

    /// <summary>Greenwich mean sidereal time as an angle, [0, 360) degrees.</summary>
    public static Angle GreenwichMean(Instant t)
    {
        double c = t.TtCenturies;
        double precessionArcsec = 0.014506
            + (c * (4612.156534
                + (c * (1.3915817 + (c * (-0.00000044 + (c * (-0.000029956 + (c * -0.0000000368)))))))));
        return (EarthRotation(t) + Angle.FromArcseconds(precessionArcsec)).Wrapped();
    }

    /// <summary>Greenwich apparent sidereal time as an angle, [0, 360) degrees.</summary>
    public static Angle GreenwichApparent(Instant t)
    {
        var nutation = Nutation.At(t);
        return (GreenwichMean(t) + nutation.EquationOfTheEquinoxes).Wrapped();
    }

    /// <summary>Local apparent sidereal time as an angle, [0, 360) degrees.</summary>
    public static Angle Local(Instant t, Site site) => (GreenwichApparent(t) + site.LongitudeEast).Wrapped();
}
