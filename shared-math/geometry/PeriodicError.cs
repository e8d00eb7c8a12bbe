// A periodic error of the nut, thread or gear: its description and its correction.

using System;

namespace Hourhinge.SharedMath.Geometry;

/// <summary>
/// After n nut turns from the start the rod has moved as if by n + A·(sin(2π n/P + φ) − sin φ) turns: ahead of its
/// turns or behind, and equal at the start. To land where the smooth motion m is due, the nut must stand at the n
/// with n + A·sin(2πn/P + φ) = m + A·sin φ. With E = 2πn/P + φ this is Kepler's equation of eccentricity
/// e = −2πA/P, solved by E = M + Σ (2/k) J_k(ke) sin kM (Watson, Theory of Bessel Functions, 2nd ed., §17.2).
/// Three harmonics, J_k by its first two terms, leave less than e⁴/3 of a radian: 1e-5 turn for e = 0.1.
/// </summary>
public sealed class PeriodicError
{
    /// <summary>Largest |e| for which three harmonics are accurate enough.</summary>
    public const double MaxEccentricity = 0.3;

    /// <summary>Builds a periodic error.</summary>
    /// <param name="periodNutTurns">P, nut turns, 0.01 to 1000.</param>
    /// <param name="amplitudeNutTurns">A, nut turns, with 2πA/P at most <see cref="MaxEccentricity"/>.</param>
    /// <param name="phaseRad">φ, radians.</param>
    public PeriodicError(double periodNutTurns, double amplitudeNutTurns, double phaseRad)
    {
        PeriodNutTurns = periodNutTurns;
        AmplitudeNutTurns = amplitudeNutTurns;
        PhaseRad = phaseRad;
    }

    /// <summary>P, nut turns.</summary>
    public double PeriodNutTurns { get; }

    /// <summary>A, nut turns.</summary>
    public double AmplitudeNutTurns { get; }

    /// <summary>φ, radians.</summary>
    public double PhaseRad { get; }

    /// <summary>Correction of one harmonic, k = 1 to 3, in nut turns: the amplitude of sin k(2πm/P + φ).</summary>
    public double HarmonicNutTurns(int k)
    {
        double e = -2 * Math.PI * AmplitudeNutTurns / PeriodNutTurns;
        double radians = k == 1 ? e - (e * e * e / 8)
            : k == 2 ? (e * e / 2) - (e * e * e * e / 6)
            : 3 * e * e * e / 8;
        return radians * PeriodNutTurns / (2 * Math.PI);
    }

    /// <summary>Mean phase at the start: M for m = 0, radians.</summary>
    public double StartPhaseRad => (2 * Math.PI * AmplitudeNutTurns * Math.Sin(PhaseRad) / PeriodNutTurns) + PhaseRad;

    /// <summary>What to add to the smooth position, in counts; 0 at the start.</summary>
    public double CorrectionCounts(double smoothCounts, double countsPerNutTurn)
    {
        double mean = (2 * Math.PI * smoothCounts / countsPerNutTurn / PeriodNutTurns) + StartPhaseRad;
        double turns = 0;
        for (int k = 1; k <= 3; k++)
        {
            turns += HarmonicNutTurns(k) * (Math.Sin(k * mean) - Math.Sin(k * StartPhaseRad));
        }

        return turns * countsPerNutTurn;
    }
}
