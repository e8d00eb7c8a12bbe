// Annual aberration.
using Hourhinge.Numerics;
using Hourhinge.Sky.Places;
using Hourhinge.Sky.Time;

namespace Hourhinge.Sky.Bodies;

/// <summary>Annual aberration to first order in v/c, from an elliptical orbit about the sun.</summary>
/// <remarks>
/// Source: Meeus, Astronomical Algorithms, 2nd edition, chapter 23 (constant of aberration, orbit's eccentricity
/// and perihelion). Neglected: the sun's own motion about the barycentre (0.01 arcsec) and the Earth's spin
/// (0.32 arcsec at most).
/// </remarks>
internal static class Aberration
{
    public const double ConstantArcsec = 20.49552;

    /// <summary>Shifts a direction on the mean equator and equinox of date.</summary>
    public static Vector3 Apply(Vector3 meanOfDate, Instant t)
    {
        double c = t.TtCenturies;
        double eccentricity = 0.016708634 - (c * (0.000042037 + (c * 0.0000001267)));
        var perihelion = Angle.FromDegrees(102.93735 + (c * (1.71946 + (c * 0.00046))));
        Angle sun = Sun.TrueLongitude(t);
        double speed = Angle.FromArcseconds(ConstantArcsec).Radians;
        Vector3 velocity = new Vector3(
            speed * (sun.Sin() - (eccentricity * perihelion.Sin())),
            speed * (-sun.Cos() + (eccentricity * perihelion.Cos())),
            0).RotateX(-Precession.MeanObliquity(t));
        return (meanOfDate + velocity).Normalized();
    }
}
