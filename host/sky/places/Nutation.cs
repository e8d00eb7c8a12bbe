// Nutation, from the largest terms of a published series.
using Hourhinge.Numerics;
using Hourhinge.Sky.Time;

namespace Hourhinge.Sky.Places;

/// <summary>Nutation in longitude and obliquity, with the obliquity it applies to.</summary>
/// <remarks>
/// Source: the IAU 1980 theory, the terms of at least 0.002 arcsec as tabulated in Meeus, Astronomical
/// Algorithms, 2nd edition, chapter 22, table 22.A. Accuracy against erfa.nut06a on 500 epochs 2020-2040 (ErfaTests):
/// 0.02 arcsec.
/// </remarks>
public readonly record struct Nutation(Angle Longitude, Angle Obliquity, Angle TrueObliquity, Angle MoonNode)
{
    // Multiples of D, M, M', F, node; then 0.0001 arcsec: sine in longitude and its rate per century, cosine in
    // obliquity and its rate per century.
    private static readonly double[][] _terms =
    {
        new[] { 0, 0, 0, 0, 1, -171996, -174.2, 92025, 8.9 },
        new[] { -2, 0, 0, 2, 2, -13187, -1.6, 5736, -3.1 },
        new[] { 0, 0, 0, 2, 2, -2274, -0.2, 977, -0.5 },
        new[] { 0, 0, 0, 0, 2, 2062, 0.2, -895, 0.5 },
        new[] { 0, 1, 0, 0, 0, 1426, -3.4, 54, -0.1 },
        new[] { 0, 0, 1, 0, 0, 712, 0.1, -7, 0 },
        new[] { -2, 1, 0, 2, 2, -517, 1.2, 224, -0.6 },
        new[] { 0, 0, 0, 2, 1, -386, -0.4, 200, 0 },
        new[] { 0, 0, 1, 2, 2, -301, 0, 129, -0.1 },
        new[] { -2, -1, 0, 2, 2, 217, -0.5, -95, 0.3 },
        new[] { -2, 0, 1, 0, 0, -158, 0, 0, 0.0 },
        new[] { -2, 0, 0, 2, 1, 129, 0.1, -70, 0 },
        new[] { 0, 0, -1, 2, 2, 123, 0, -53, 0.0 },
        new[] { 2, 0, 0, 0, 0, 63, 0, 0, 0.0 },
        new[] { 0, 0, 1, 0, 1, 63, 0.1, -33, 0 },
        new[] { 2, 0, -1, 2, 2, -59, 0, 26, 0.0 },
        new[] { 0, 0, -1, 0, 1, -58, -0.1, 32, 0 },
        new[] { 0, 0, 1, 2, 1, -51, 0, 27, 0.0 },
        new[] { -2, 0, 2, 0, 0, 48, 0, 0, 0.0 },
        new[] { 0, 0, -2, 2, 1, 46, 0, -24, 0.0 },
        new[] { 2, 0, 0, 2, 2, -38, 0, 16, 0.0 },
        new[] { 0, 0, 2, 2, 2, -31, 0, 13, 0.0 },
        new[] { 0, 0, 2, 0, 0, 29, 0, 0, 0.0 },
        new[] { -2, 0, 1, 2, 2, 29, 0, -12, 0.0 },
        new[] { 0, 0, 0, 2, 0, 26, 0, 0, 0.0 },
        new[] { -2, 0, 0, 2, 0, -22, 0, 0, 0.0 },
        new[] { 0, 0, -1, 2, 1, 21, 0, -10, 0.0 },
    };

    /// <summary>Apparent minus mean sidereal time.</summary>
    public Angle EquationOfTheEquinoxes => (Longitude * TrueObliquity.Cos())
        + Angle.FromArcseconds((0.00264 * MoonNode.Sin()) + (0.000063 * (MoonNode * 2).Sin()));

    /// <summary>The nutation at an instant.</summary>
    public static Nutation At(Instant t)
    {
        double c = t.TtCenturies;
        var arguments = LunarArguments.At(c);
        double longitude = 0, obliquity = 0;
        foreach (double[] term in _terms)
        {
            Angle angle = (term[0] * arguments.Elongation) + (term[1] * arguments.SunAnomaly)
                + (term[2] * arguments.MoonAnomaly) + (term[3] * arguments.LatitudeArgument)
                + (term[4] * arguments.Node);
            longitude += (term[5] + (term[6] * c)) * angle.Sin();
            obliquity += (term[7] + (term[8] * c)) * angle.Cos();
        }

        var inObliquity = Angle.FromArcseconds(obliquity * 1e-4);
        return new Nutation(Angle.FromArcseconds(longitude * 1e-4), inObliquity,
            Precession.MeanObliquity(t) + inObliquity, arguments.Node);
    }

    internal Vector3 FromMeanOfDate(Vector3 meanOfDate)
    {
        Angle meanObliquity = TrueObliquity - Obliquity;
        return meanOfDate.RotateX(meanObliquity).RotateZ(-Longitude).RotateX(-TrueObliquity);
    }
}
