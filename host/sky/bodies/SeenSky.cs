// The sky as it is seen from a place at a moment: from catalogue directions (J2000) to where the stars stand over the
// ground, with aberration and refraction. For many stars at one moment.
using Hourhinge.Numerics;
using Hourhinge.Sky.Observing;
using Hourhinge.Sky.Places;
using Hourhinge.Sky.Time;

namespace Hourhinge.Sky.Bodies;

/// <summary>The seen sky. Precession, nutation, annual aberration and refraction; accuracy as
/// <see cref="ApparentPlace"/> and <see cref="Refraction"/>. Immutable.</summary>
public sealed class SeenSky
{
    private readonly Rotation _toDate, _fromDate;
    private readonly Vector3 _velocity, _zenith;
    private readonly Angle _sidereal;
    private readonly Air _air;

    /// <summary>Prepares a moment.</summary>
    /// <param name="t">The moment.</param>
    /// <param name="site">Where.</param>
    /// <param name="air">At the site; <see cref="Air.None"/> for no refraction.</param>
    public SeenSky(Instant t, Site site, Air air)
    {
        Vector3 Date(Vector3 v) => Nutation.At(t).FromMeanOfDate(Precession.ToDate(v, t));

        _fromDate = new Rotation(Date(Vector3.UnitX), Date(Vector3.UnitY), Date(Vector3.UnitZ));
        _toDate = _fromDate.Inverse();
        // The Earth's velocity over that of light, from its sideways shift of two directions: to 0.002 arcsec.
        Vector3 alongX = Aberration.Apply(Vector3.UnitX, t), alongY = Aberration.Apply(Vector3.UnitY, t);
        _velocity = new Vector3(alongY.X, alongX.Y, alongX.Z);
        _sidereal = SiderealTime.Local(t, site);
        _zenith = Vector3.FromSpherical(_sidereal, site.Latitude);
        _air = air;
    }

    /// <summary>Where a catalogue star is seen, still in the axes of J2000.</summary>
    /// <param name="j2000">Unit vector.</param>
    public Vector3 Seen(Vector3 j2000)
    {
        Vector3 date = (_toDate.Apply(j2000) + _velocity).Normalized();
        double sine = date.Dot(_zenith);
        if (_air.PressureHpa > 0 && sine is > 0 and < 0.9999999)
        {
            double lift = Refraction.FromTrue(new Angle(Math.Asin(sine)), _air).Radians;
            Vector3 up = (_zenith - (date * sine)).Normalized();
            date = (date * Math.Cos(lift)) + (up * Math.Sin(lift));
        }

        return _fromDate.Apply(date);
    }

    /// <summary>Hour angle and declination about the true pole of a seen direction.</summary>
    /// <param name="seenJ2000">Unit vector in the axes of J2000.</param>
    public HourAngleDeclination Place(Vector3 seenJ2000)
    {
        Vector3 date = _toDate.Apply(seenJ2000);
        return new HourAngleDeclination((_sidereal - date.Longitude()).WrappedSigned(), date.Latitude());
    }

    /// <summary>Turns the axes of J2000 into axes fixed to the ground: x to the equator on the meridian, y to the east
    /// point, z to the true north pole.</summary>
    public Rotation ToGround => Rotation.About(Vector3.UnitZ, -_sidereal).After(_toDate);
}
