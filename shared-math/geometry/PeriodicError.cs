// A periodic error of the nut, thread or gear.

using System;

namespace Hourhinge.SharedMath.Geometry;

/// <summary>
/// After n nut turns from the start the rod has moved as if by n + A·(sin(2π n/P + φ) − sin φ) turns: ahead of its
/// turns or behind, and equal at the start. How several errors are taken out together: <see cref="NutTurns"/>.
/// </summary>
public sealed class PeriodicError
{
    /// <summary>Largest 2πA/P of one error: a nut worse than this is not one.</summary>
    public const double MaxSteepness = 0.3;

    /// <summary>Builds a periodic error.</summary>
    /// <param name="periodNutTurns">P, nut turns, 0.01 to 1000.</param>
    /// <param name="amplitudeNutTurns">A, nut turns, with 2πA/P at most <see cref="MaxSteepness"/>.</param>
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

    /// <summary>2π|A|/P: the largest change of the rod's rate, as a fraction.</summary>
    public double Steepness => 2 * Math.PI * Math.Abs(AmplitudeNutTurns) / PeriodNutTurns;

    /// <summary>How far the rod is ahead after n nut turns, in nut turns; 0 at the start.</summary>
    public double AheadNutTurns(double nutTurns) =>
        AmplitudeNutTurns * (Math.Sin((2 * Math.PI * nutTurns / PeriodNutTurns) + PhaseRad) - Math.Sin(PhaseRad));

    /// <summary>
    /// The n at which the rod has moved by m turns in spite of all errors: n + Σ A·(sin(2πn/P + φ) − sin φ) = m, to
    /// 1e-13 of a turn. Newton's method; a step that leaves the bracket is replaced by bisection. The left side rises
    /// while the steepness of all errors together is below 1.
    /// </summary>
    public static double NutTurns(PeriodicError[] errors, double smoothTurns)
    {
        double swing = 0;
        for (int i = 0; i < errors.Length; i++)
        {
            swing += 2 * Math.Abs(errors[i].AmplitudeNutTurns);
        }

        double low = smoothTurns - swing;
        double high = smoothTurns + swing;
        double turns = smoothTurns;
        for (int step = 0; step < 100; step++)
        {
            double excess = turns - smoothTurns;
            double slope = 1;
            for (int i = 0; i < errors.Length; i++)
            {
                excess += errors[i].AheadNutTurns(turns);
                slope += errors[i].SlopeAt(turns);
            }

            if (0 < excess)
            {
                high = turns;
            }
            else
            {
                low = turns;
            }

            double next = turns - (excess / slope);
            if (!(low <= next && next <= high))
            {
                next = (low + high) / 2;
            }

            if (Math.Abs(next - turns) < 1e-13)
            {
                return next;
            }

            turns = next;
        }

        return turns;
    }

    private double SlopeAt(double nutTurns) => 2 * Math.PI * AmplitudeNutTurns / PeriodNutTurns
        * Math.Cos((2 * Math.PI * nutTurns / PeriodNutTurns) + PhaseRad);
}
