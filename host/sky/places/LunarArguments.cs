// Arguments of the nutation and lunar series.
using Hourhinge.Numerics;

namespace Hourhinge.Sky.Places;

/// <summary>Mean arguments of sun and moon.</summary>
/// <remarks>
/// Source: Chapront-Touze and Chapront (1988, 1991) as given in Meeus, Astronomical Algorithms, 2nd edition,
/// chapters 22 (node) and 47 (the others).
/// </remarks>
internal readonly record struct LunarArguments(
    Angle MoonLongitude, Angle Elongation, Angle SunAnomaly, Angle MoonAnomaly, Angle LatitudeArgument, Angle Node)
{
    /// <param name="c">Julian centuries of TT since J2000.0.</param>
    public static LunarArguments At(double c) => new LunarArguments(
        MoonLongitude: Wrapped(
            218.3164477 + (c * (481267.88123421 + (c * (-0.0015786 + (c * ((1 / 538841.0) - (c / 65194000)))))))),
        Elongation: Wrapped(297.8501921
            + (c * (445267.1114034 + (c * (-0.0018819 + (c * ((1 / 545868.0) - (c / 113065000)))))))),
        SunAnomaly: Wrapped(357.5291092 + (c * (35999.0502909 + (c * (-0.0001536 + (c / 24490000)))))),
        MoonAnomaly: Wrapped(134.9633964
            + (c * (477198.8675055 + (c * (0.0087414 + (c * ((1 / 69699.0) - (c / 14712000)))))))),
        LatitudeArgument: Wrapped(
            93.2720950 + (c * (483202.0175233 + (c * (-0.0036539 + (c * ((-1 / 3526000.0) + (c / 863310000)))))))),
        Node: Wrapped(125.04452 + (c * (-1934.136261 + (c * (0.0020708 + (c / 450000)))))));

    private static Angle Wrapped(double degrees) => Angle.FromDegrees(degrees % 360).Wrapped();
}
