// Hour angle and declination to altitude and azimuth, and back. No refraction here (Refraction.cs).
using Hourhinge.Numerics;
using Hourhinge.SharedMath.Geometry;
using Hourhinge.Sky.Places;
using Hourhinge.Sky.Time;

namespace Hourhinge.Sky.Observing;

/// <summary>Altitude and azimuth by exact spherical trigonometry.</summary>
/// <remarks>Source: Meeus, Astronomical Algorithms, 2nd edition, chapters 13, 14; azimuth here is from north.</remarks>
public static class Horizon
{
    /// <summary>The Earth's rotation rate, IERS Conventions (2010), table 1.2, for the speed of the sky.</summary>
    public const double RotationRadPerSecond = SkyRate.SiderealRadPerSec;

    public static HourAngleDeclination HourAngle(Equatorial ofDate, Instant t, Site site) => new HourAngleDeclination(
        (SiderealTime.Local(t, site) - ofDate.RightAscension).WrappedSigned(), ofDate.Declination);

    public static Horizontal FromEquatorial(Equatorial ofDate, Instant t, Site site) =>
        FromHourAngle(HourAngle(ofDate, t, site), site.Latitude);

    public static Horizontal FromHourAngle(HourAngleDeclination place, Angle latitude)
    {
        // Turned about the west line by 90 degrees minus latitude, z goes to the zenith and x to the south.
        Vector3 v = place.ToVector().RotateY(new Angle(Math.PI / 2) - latitude);
        return new Horizontal(v.Latitude(), new Angle(Math.Atan2(-v.Y, -v.X)).Wrapped());
    }

    public static HourAngleDeclination ToHourAngle(Horizontal place, Angle latitude)
    {
        var v = new Vector3(
            -place.Altitude.Cos() * place.Azimuth.Cos(),
            -place.Altitude.Cos() * place.Azimuth.Sin(),
            place.Altitude.Sin());
        return HourAngleDeclination.FromVector(v.RotateY(latitude - new Angle(Math.PI / 2)));
    }
}
