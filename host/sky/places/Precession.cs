// Precession: mean J2000 directions to the mean equator and equinox of date.
using Hourhinge.Numerics;
using Hourhinge.Sky.Time;

namespace Hourhinge.Sky.Places;

/// <summary>IAU 2006 precession in the three-angle (zeta, z, theta) form, and the mean obliquity.</summary>
/// <remarks>
/// Source: Capitaine, Wallace and Chapront, "Expressions for IAU 2000 precession quantities",
/// Astronomy and Astrophysics 412 (2003) 567-586, equations 37, 39 and 40 (adopted as IAU 2006).
/// The frame bias between ICRS and mean J2000 (0.02 arcsec) is neglected.
/// </remarks>
public static class Precession
{
    /// <summary>Mean obliquity of the ecliptic of date.</summary>
    public static Angle MeanObliquity(Instant t)
    {
        double c = t.TtCenturies;
        return Angle.FromArcseconds(84381.406
            + (c * (-46.836769
                + (c * (-0.0001831 + (c * (0.00200340 + (c * (-0.000000576 + (c * -0.0000000434))))))))));
    }

    /// <summary>From mean J2000 to the mean equator and equinox of date.</summary>
    /// <param name="j2000">Mean place at J2000.</param>
    /// <param name="t">The date.</param>
    /// <returns>Mean place of date, within 1e-5 arcsec of erfa.pn06 in 2020-2040 (ErfaTests).</returns>
    public static Equatorial ToDate(Equatorial j2000, Instant t) => Equatorial.FromVector(ToDate(j2000.ToVector(), t));

    internal static Vector3 ToDate(Vector3 j2000, Instant t)
    {
        (Angle zeta, Angle z, Angle theta) = Angles(t);
        return j2000.RotateZ(-zeta).RotateY(theta).RotateZ(-z);
    }

    private static (Angle Zeta, Angle Z, Angle Theta) Angles(Instant t)
    {
        double c = t.TtCenturies;
        double zeta = 2.650545
            + (c * (2306.083227 + (c * (0.2988499 + (c * (0.01801828 + (c * (-0.000005971 + (c * -0.0000003173)))))))));
        double z = -2.650545
            + (c * (2306.077181 + (c * (1.0927348 + (c * (0.01826837 + (c * (-0.000028596 + (c * -0.0000002904)))))))));
        double theta = c * (2004.191903
            + (c * (-0.4294934 + (c * (-0.04182264 + (c * (-0.000007089 + (c * -0.0000001274))))))));
        return (Angle.FromArcseconds(zeta), Angle.FromArcseconds(z), Angle.FromArcseconds(theta));
    }
}
