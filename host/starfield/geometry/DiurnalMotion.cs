// Where the sky is: Earth rotation, the turn from star coordinates to the observer's horizon, refraction.
// Horizon frame: x east, y north, z up (right-handed). No camera here; that is BoardCamera.cs.

using Hourhinge.Numerics;
using Hourhinge.Starfield.Scenes;

namespace Hourhinge.Starfield.Geometry;

/// <summary>Directions of stars in the observer's horizon frame as functions of time.</summary>
public sealed class DiurnalMotion
{
    // IAU 2000 Resolution B1.8 and IERS Conventions (2010), eq. 5.15: Earth rotation angle in turns of UT1.
    private const double EraAtJ2000Turns = 0.7790572732640;
    private const double EraTurnsPerDay = 1.00273781191135448;
    private static readonly DateTime _j2000 = new(2000, 1, 1, 12, 0, 0, DateTimeKind.Utc);

    /// <summary>Rate of the Earth rotation angle, 15.041067 arcsec/s, in radians per second of UT1.</summary>
    public const double RateRadPerSec = EraTurnsPerDay * 2 * Math.PI / 86400;

    private readonly double _eraAtStartRad;
    private readonly Rotation _hourAngleToHorizon;
    private readonly RefractionModel? _refraction;

    /// <summary>
    /// Given: site; UTC of t = 0 (UT1 is taken as UTC, under 0.9 s apart, which shifts the sky by at most 14 arcsec
    /// in hour angle and leaves its rate alone); refraction, or null for an airless sky.
    /// </summary>
    public DiurnalMotion(SimulatedSite site, DateTime startUtc, RefractionModel? refraction)
    {
        ArgumentNullException.ThrowIfNull(site);
        double days = (startUtc - _j2000).Ticks / (double)TimeSpan.TicksPerDay;
        // The whole turns are dropped before the multiplication, so no digits are lost to a large angle.
        double turns = EraAtJ2000Turns + (days % 1) + ((EraTurnsPerDay - 1) * days);
        _eraAtStartRad = (2 * Math.PI * (turns - Math.Floor(turns))) + Angle.FromDegrees(site.LongitudeDeg).Radians;
        var latitude = Angle.FromDegrees(site.LatitudeDeg);
        double sin = latitude.Sin(), cos = latitude.Cos();
        // Hour-angle frame: x to the meridian on the equator, y to the east point, z to the north celestial pole.
        _hourAngleToHorizon = new Rotation(new Vector3(0, 1, 0), new Vector3(-sin, 0, cos), new Vector3(cos, 0, sin));
        _refraction = refraction;
    }

    /// <summary>
    /// Local Earth rotation angle in radians at t seconds after the start; hour angle = this minus right ascension.
    /// Right ascensions count from the celestial intermediate origin of date (precession, nutation and aberration
    /// are the business of whoever gives the star list; over one night they do not move a star by 0.5 arcsec).
    /// </summary>
    public double LocalRotationAngleRad(double tSeconds) => _eraAtStartRad + (RateRadPerSec * tSeconds);

    /// <summary>The turn from star coordinates (unit vectors of right ascension, declination) to the horizon
    /// frame.</summary>
    public Rotation StarToHorizon(double tSeconds)
    {
        double c = Math.Cos(LocalRotationAngleRad(tSeconds)), s = Math.Sin(LocalRotationAngleRad(tSeconds));
        return _hourAngleToHorizon.After(
            new Rotation(new Vector3(c, s, 0), new Vector3(-s, c, 0), new Vector3(0, 0, 1)));
    }

    /// <summary>
    /// The direction in which the observer sees a body. Given: its airless unit vector in the horizon frame.
    /// Returned: the refracted unit vector, or null under the lowest altitude at which refraction is modelled.
    /// </summary>
    public Vector3? Apparent(Vector3 horizon)
    {
        if (horizon.Z < RefractionModel.LowestSinAltitude)
        {
            return null;
        }

        if (_refraction is null)
        {
            return horizon;
        }

        double h = Math.Sqrt((horizon.X * horizon.X) + (horizon.Y * horizon.Y));
        if (h < 1e-12)
        {
            return horizon;
        }

        double lift = _refraction.RefractionRad(h / horizon.Z), c = Math.Cos(lift), s = Math.Sin(lift);
        double scale = ((h * c) - (horizon.Z * s)) / h;
        return new Vector3(horizon.X * scale, horizon.Y * scale, (horizon.Z * c) + (h * s));
    }
}
