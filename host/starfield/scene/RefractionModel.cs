// Atmospheric refraction in two terms. Enough for the drift of a field; not for work near the horizon.

using Hourhinge.Numerics;

namespace Hourhinge.Starfield.Scenes;

/// <summary>
/// Refraction by the two-term series R = A tan z - B tan^3 z in the airless zenith distance z (R. M. Green, Spherical
/// Astronomy, 1985, and older handbooks; form and constants from memory: A = 58.294 arcsec, B = 0.0668 arcsec at
/// 1010 hPa and 10 degrees C), scaled with air density as pressure / absolute temperature.
/// Accuracy against ERFA refco (dry air, 0.55 micrometre), by zenith distance: within 0.5 % (0.5 arcsec) to 60 degrees,
/// 0.8 % (1.6 arcsec) to 75, 1.2 % (3.6 arcsec) at 80; measured in tests/reference/starfield.
/// </summary>
public sealed record RefractionModel
{
    private static readonly double _tangentTermRad = Angle.FromArcseconds(58.294).Radians;
    private static readonly double _cubicTermRad = Angle.FromArcseconds(0.0668).Radians;
    private readonly double _density;

    /// <summary>Sine of the lowest airless altitude that is drawn, 10 degrees: below it two terms no longer
    /// hold.</summary>
    public const double LowestSinAltitude = 0.17364817766693033;

    /// <summary>Given: pressure at the site in hPa (0 to 1100), air temperature in degrees C (-60 to 60).</summary>
    public RefractionModel(double pressureHPa = 1010, double temperatureC = 10)
    {
        Check.Range(pressureHPa, 0, 1100, "Pressure (hPa)");
        Check.Range(temperatureC, -60, 60, "Temperature (degrees C)");
        _density = pressureHPa / 1010 * (283.15 / (273.15 + temperatureC));
    }

    /// <summary>
    /// Given: tangent of the airless zenith distance, 0 to 5.67 (altitude down to 10 degrees).
    /// Returned: how much higher the body appears, in radians.
    /// </summary>
    public double RefractionRad(double tanZenithDistance) =>
        _density * tanZenithDistance * (_tangentTermRad - (_cubicTermRad * tanZenithDistance * tanZenithDistance));
}
