// Directions on the sky and the place they are seen from. Plain values; the turns between them are in
// Horizon.cs, Precession.cs and ApparentPlace.cs.
using Hourhinge.Numerics;

namespace Hourhinge.Sky.Places;

/// <summary>Right ascension and declination; which equator and equinox is said where the value comes from.</summary>
public readonly record struct Equatorial(Angle RightAscension, Angle Declination)
{
    /// <summary>Unit vector: x to right ascension 0 on the equator, z to the north pole.</summary>
    public Vector3 ToVector() => Vector3.FromSpherical(RightAscension, Declination);

    /// <summary>The inverse of <see cref="ToVector"/>; any length.</summary>
    public static Equatorial FromVector(Vector3 v) => new Equatorial(v.Longitude().Wrapped(), v.Latitude());

    /// <summary>Great-circle distance, 0 to 180 degrees, well-conditioned at both ends.</summary>
    public Angle SeparationFrom(Equatorial other) => Separation(ToVector(), other.ToVector());

    internal static Angle Separation(Vector3 a, Vector3 b) => new Angle(Math.Atan2(a.Cross(b).Length, a.Dot(b)));
}

/// <summary>Local hour angle, positive to the west of the meridian, and declination.</summary>
public readonly record struct HourAngleDeclination(Angle HourAngle, Angle Declination)
{
    /// <summary>Axes: x to the equator on the meridian, y to hour angle 6 h (west), z to the north pole.</summary>
    internal Vector3 ToVector() => Vector3.FromSpherical(HourAngle, Declination);

    internal static HourAngleDeclination FromVector(Vector3 v) =>
        new HourAngleDeclination(v.Longitude().WrappedSigned(), v.Latitude());
}

/// <summary>Altitude above the horizon and azimuth from north through east, [0, 360).</summary>
public readonly record struct Horizontal(Angle Altitude, Angle Azimuth);

/// <summary>A place on the Earth.</summary>
/// <param name="Latitude">Geodetic (WGS 84) latitude, north positive, -90 to 90 degrees.</param>
/// <param name="LongitudeEast">Longitude, east positive, -180 to 180 degrees.</param>
/// <param name="HeightM">Height above the ellipsoid in metres; matters only to the moon's parallax.</param>
public readonly record struct Site(Angle Latitude, Angle LongitudeEast, double HeightM = 0)
{
    /// <summary>A site from degrees, with the ranges checked.</summary>
    /// <exception cref="ArgumentOutOfRangeException">A value is out of range; the message names it.</exception>
    public static Site FromDegrees(double latitudeDeg, double longitudeEastDeg, double heightM = 0)
    {
        if (!(Math.Abs(latitudeDeg) <= 90))
        {
            throw new ArgumentOutOfRangeException(nameof(latitudeDeg), latitudeDeg,
                "The latitude must lie between -90 and 90 degrees.");
        }

        if (!(Math.Abs(longitudeEastDeg) <= 180))
        {
            throw new ArgumentOutOfRangeException(nameof(longitudeEastDeg), longitudeEastDeg,
                "The longitude must lie between -180 and 180 degrees, east positive.");
        }

        if (!(heightM is >= -500 and <= 9000))
        {
            throw new ArgumentOutOfRangeException(nameof(heightM), heightM,
                "The height must lie between -500 and 9000 m.");
        }

        return new Site(Angle.FromDegrees(latitudeDeg), Angle.FromDegrees(longitudeEastDeg), heightM);
    }

    public bool IsSouthern => Latitude.Radians < 0;
}
