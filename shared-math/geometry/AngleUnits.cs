// Angle units. Everything in shared-math works in radians; people read degrees and arcseconds.

namespace Hourhinge.SharedMath.Geometry;

/// <summary>Conversions between radians and the units that people read.</summary>
public static class AngleUnits
{
    /// <summary>Arcseconds in a radian, 648000/π.</summary>
    public const double ArcsecPerRad = 206264.80624709636;

    /// <summary>Radians in a degree, π/180.</summary>
    public const double RadPerDeg = 0.017453292519943295;

    /// <summary>Degrees to radians.</summary>
    public static double FromDeg(double deg) => deg * RadPerDeg;

    /// <summary>Radians to degrees.</summary>
    public static double ToDeg(double rad) => rad / RadPerDeg;

    /// <summary>Radians to arcseconds.</summary>
    public static double ToArcsec(double rad) => rad * ArcsecPerRad;

    /// <summary>Arcseconds to radians.</summary>
    public static double FromArcsec(double arcsec) => arcsec / ArcsecPerRad;
}
