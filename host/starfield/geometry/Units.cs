// Conversions between the units of the scene (degrees, arcminutes, arcseconds) and radians.

namespace Hourhinge.Starfield.Geometry;

internal static class Units
{
    public const double RadPerDeg = Math.PI / 180;
    public const double RadPerArcmin = RadPerDeg / 60;
    public const double RadPerArcsec = RadPerDeg / 3600;
}
