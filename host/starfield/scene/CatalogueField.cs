// Real stars for a scene: catalogue places (J2000) to coordinates of date. Written apart from host/sky, so that frames
// of real stars judge it.

using Hourhinge.Numerics;

namespace Hourhinge.Starfield.Scenes;

/// <summary>
/// Catalogue stars of date, by the celestial intermediate pole: the leading terms of X and Y (IERS Conventions 2010,
/// chapter 5, equations 5.10 and 5.16; coefficients from memory), and annual aberration of a circular orbit (constant
/// 20.4955 arcsec, IAU 1976). Accuracy 0.6 arcsec: neglected nutation terms, the orbit's eccentricity.
/// </summary>
public static class CatalogueField
{
    private static readonly DateTime _j2000 = new(2000, 1, 1, 12, 0, 0, DateTimeKind.Utc);

    /// <summary>
    /// Given: stars of J2000 (degrees, V magnitude); moment. Returned: the same stars in intermediate coordinates of
    /// date, numbered from 1 in the order given.
    /// </summary>
    public static IReadOnlyList<SimulatedStar> OfDate(
        IEnumerable<(double RightAscensionDeg, double DeclinationDeg, double Magnitude)> stars, DateTime utc)
    {
        double t = (utc - _j2000).TotalDays / 36525;
        Rotation toDate = ToDate(t);
        Vector3 velocity = Velocity(t);
        return [.. stars.Select((s, i) =>
        {
            Vector3 place = Vector3.FromSpherical(Angle.FromDegrees(s.RightAscensionDeg),
                Angle.FromDegrees(s.DeclinationDeg));
            Vector3 date = toDate.Apply((place + velocity).Normalized());
            double ra = date.Longitude().Degrees;
            return new SimulatedStar(i + 1, ra < 0 ? ra + 360 : ra, date.Latitude().Degrees, s.Magnitude);
        })];
    }

    private static Rotation ToDate(double t)
    {
        Angle node = Angle.FromDegrees(125.044555 - (1934.136261 * t));
        Angle twiceSun = Angle.FromDegrees(2 * (280.4665 + (36000.7698 * t)));
        double x = Angle.FromArcseconds(-0.016617 + (2004.191898 * t) - (0.429783 * t * t) - (6.844318 * node.Sin())
            - (0.523908 * twiceSun.Sin())).Radians;
        double y = Angle.FromArcseconds(-0.006951 - (0.025896 * t) - (22.407275 * t * t) + (9.205236 * node.Cos())
            + (0.573033 * twiceSun.Cos())).Radians;
        double a = 0.5 + (((x * x) + (y * y)) / 8);
        return new Rotation(new Vector3(1 - (a * x * x), -a * x * y, -x), new Vector3(-a * x * y, 1 - (a * y * y), -y),
            new Vector3(x, y, 1 - (a * ((x * x) + (y * y)))));
    }

    // Of the Earth over that of light, on the equator of J2000.
    private static Vector3 Velocity(double t)
    {
        Angle anomaly = Angle.FromDegrees(357.529 + (35999.050 * t));
        Angle sun = Angle.FromDegrees(280.466 + (36000.770 * t) + (1.915 * anomaly.Sin()) - (1.397 * t));
        Angle obliquity = Angle.FromDegrees(23.43928);
        double speed = Angle.FromArcseconds(20.4955).Radians;
        return new Vector3(sun.Sin(), -sun.Cos() * obliquity.Cos(), -sun.Cos() * obliquity.Sin()) * speed;
    }
}
