using Hourhinge.SharedMath.Geometry;

namespace Hourhinge.Calibration.Orientation;

/// <summary>The sky's rotation in the units of the star calibration.</summary>
public static class ApparentDrift
{
    /// <summary>Earth's rotation, rad/s: 7.292115e-5 (IERS Conventions 2010, nominal value).</summary>
    public const double RadPerSec = SkyRate.SiderealRadPerSec;

    /// <summary>Arcseconds in a radian.</summary>
    public const double ArcsecPerRad = AngleUnits.ArcsecPerRad;

    /// <summary>The same rate in arcsec/s: 15.041067.</summary>
    public const double ArcsecPerSec = RadPerSec * ArcsecPerRad;
}
