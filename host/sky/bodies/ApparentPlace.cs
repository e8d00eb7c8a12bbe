// Apparent place of a star from its catalogue place (J2000).
// Not here: altitude and azimuth (Horizon.cs), refraction (Refraction.cs).
using Hourhinge.Numerics;
using Hourhinge.Sky.Observing;
using Hourhinge.Sky.Places;
using Hourhinge.Sky.Time;

namespace Hourhinge.Sky.Bodies;

/// <summary>A catalogue place: mean J2000 position and yearly proper motion.</summary>
/// <param name="J2000">Mean place, equator, equinox and epoch J2000.0.</param>
/// <param name="ProperMotionRaArcsecPerYear">In right ascension times cos(declination): a true arc.</param>
/// <param name="ProperMotionDecArcsecPerYear">In declination.</param>
public readonly record struct CataloguePlace(
    Equatorial J2000, double ProperMotionRaArcsecPerYear = 0, double ProperMotionDecArcsecPerYear = 0);

/// <summary>Apparent geocentric place of a star.</summary>
/// <remarks>
/// Proper motion, IAU 2006 precession, main nutation terms, annual aberration. Neglected, with the largest
/// error: annual parallax 0.8 arcsec, light bending 0.3 arcsec beyond 2 degrees from the sun, diurnal aberration
/// 0.32 arcsec, polar motion 0.5 arcsec. Accuracy against erfa.atco13 on 500 stars and epochs (ErfaTests): 0.35 arcsec.
/// </remarks>
public static class ApparentPlace
{
    /// <summary>Apparent right ascension and declination, true equator and equinox of date.</summary>
    public static Equatorial Of(CataloguePlace star, Instant t)
    {
        Vector3 mean = Aberration.Apply(MeanOfDate(star, t), t);
        return Equatorial.FromVector(Nutation.At(t).FromMeanOfDate(mean));
    }

    /// <summary>Altitude and azimuth without refraction.</summary>
    public static Horizontal AltAz(CataloguePlace star, Instant t, Site site) =>
        Horizon.FromEquatorial(Of(star, t), t, site);

    private static Vector3 MeanOfDate(CataloguePlace star, Instant t)
    {
        double years = t.TtCenturies * 100;
        Angle ra = star.J2000.RightAscension;
        Angle dec = star.J2000.Declination;
        var east = new Vector3(-ra.Sin(), ra.Cos(), 0);
        var north = new Vector3(-dec.Sin() * ra.Cos(), -dec.Sin() * ra.Sin(), dec.Cos());
        Vector3 moved = star.J2000.ToVector()
            + (east * Angle.FromArcseconds(star.ProperMotionRaArcsecPerYear * years).Radians)
            + (north * Angle.FromArcseconds(star.ProperMotionDecArcsecPerYear * years).Radians);
        return Precession.ToDate(moved.Normalized(), t);
    }
}
