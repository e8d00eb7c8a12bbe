// Between the equator's axes and the observer's: hour angle, altitude, azimuth, parallactic angle, and the way the
// sky moves there. No refraction here (Refraction.cs).
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

    public static Equatorial ToEquatorial(Horizontal place, Instant t, Site site)
    {
        HourAngleDeclination seen = ToHourAngle(place, site.Latitude);
        return new Equatorial((SiderealTime.Local(t, site) - seen.HourAngle).Wrapped(), seen.Declination);
    }

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

    /// <summary>Angle at the star from north to the zenith, positive (eastward) west of the meridian.</summary>
    public static Angle ParallacticAngle(HourAngleDeclination place, Angle latitude) => new Angle(Math.Atan2(
        place.HourAngle.Sin() * latitude.Cos(),
        (latitude.Sin() * place.Declination.Cos())
        - (latitude.Cos() * place.Declination.Sin() * place.HourAngle.Cos())));

    /// <summary>The sky's motion at a place: how fast, and which way across a level frame.</summary>
    public static SkyMotion Motion(HourAngleDeclination place, Angle latitude)
    {
        double speed = RotationRadPerSecond * place.Declination.Cos();
        // A star goes west, position angle 270 degrees; the zenith lies at the parallactic angle from north.
        Angle fromUp = new Angle(1.5 * Math.PI) - ParallacticAngle(place, latitude);
        // Position angles run anticlockwise on the sky as seen, so left is +90 degrees from up.
        return new SkyMotion(
            new Angle(speed).Arcseconds, new Angle(speed * fromUp.Cos()).Arcseconds,
            new Angle(-speed * fromUp.Sin()).Arcseconds, (-fromUp).Wrapped());
    }
}

/// <summary>The sky's motion across a level frame, seen from inside.</summary>
/// <param name="SpeedArcsecPerSecond">On the sky; 15.04 times the cosine of declination.</param>
/// <param name="UpArcsecPerSecond">Rate of altitude.</param>
/// <param name="RightArcsecPerSecond">To the right of a level frame: rate of azimuth times cos(altitude).</param>
/// <param name="ClockAngle">Direction of motion, clockwise from up, [0, 360).</param>
public readonly record struct SkyMotion(
    double SpeedArcsecPerSecond, double UpArcsecPerSecond, double RightArcsecPerSecond, Angle ClockAngle);
