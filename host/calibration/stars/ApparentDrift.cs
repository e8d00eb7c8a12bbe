// Constants of the sky's turn that the calibration needs. One place.
using Hourhinge.SharedMath.Geometry;

namespace Hourhinge.Calibration.Stars;

/// <summary>Rate of the sky.</summary>
public static class ApparentDrift
{
    /// <summary>Earth's rotation, rad/s: 7.292115e-5 (IERS Conventions 2010, nominal value).</summary>
    public const double RadPerSec = SkyRate.SiderealRadPerSec;

    /// <summary>Arcseconds in a radian.</summary>
    public const double ArcsecPerRad = AngleUnits.ArcsecPerRad;

    /// <summary>The same rate in arcsec/s: 15.041067.</summary>
    public const double ArcsecPerSec = RadPerSec * ArcsecPerRad;
}

/// <summary>How the sky lies on the sensor.</summary>
/// <param name="WestAngleRad">Direction in which stars move with the drive stopped, at the frame's centre, radians from
/// +x towards +y (rows counted downwards as in the file).</param>
/// <param name="FocalLengthPx">Focal length in pixels.</param>
/// <param name="Mirrored">True for a mirror image (rows stored bottom-up, or an odd number of mirrors).</param>
public sealed record SkyOnSensor(double WestAngleRad, double FocalLengthPx, bool Mirrored = false)
{
    /// <summary>Scale at the frame's centre.</summary>
    public double ArcsecPerPx => ApparentDrift.ArcsecPerRad / FocalLengthPx;

    /// <summary>A motion on the sensor as seen on the sky: arcsec east, arcsec north, arcsec of turn from east to
    /// north.</summary>
    public (double East, double North, double Turn) ToSky(double shiftXPx, double shiftYPx, double rotationRad)
    {
        double west = Mirrored ? Math.PI - WestAngleRad : WestAngleRad, x = Mirrored ? -shiftXPx : shiftXPx;
        double ex = -Math.Cos(west), ey = -Math.Sin(west);
        // Unmirrored and seen from inside, north is a quarter turn on from east in the sense of +x to +y.
        return (((x * ex) + (shiftYPx * ey)) * ArcsecPerPx, ((-x * ey) + (shiftYPx * ex)) * ArcsecPerPx,
            (Mirrored ? -rotationRad : rotationRad) * ApparentDrift.ArcsecPerRad);
    }
}
