// Swivelled rod: both ends of the rod are free to turn, so it is the chord (or the arc over the chord)
// between two pivots, one on each board.

using System;

namespace Hourhinge.SharedMath.Geometry;

/// <summary>
/// Nut pivot at distance a from the hinge axis, rod anchor at distance b, angle θ between the two arms:
/// chord c² = (a−b)² + 4ab sin²(θ/2) (law of cosines, in the form that stays exact when a = b and θ is small).
/// Straight rod s = c; rod bent to radius ρ, s = 2ρ asin(c/2ρ). With a = b = ρ, s = ρθ: no error at all.
/// Driven at constant speed from square (θ = 0) the straight isosceles form runs ahead by θ³/24 + ... since
/// θ = 2 asin(x/2) for x = s/a (power series of the arcsine, Abramowitz and Stegun 4.4.40).
/// </summary>
public sealed class SwivelledRodHinge : HingeGeometry
{
    // The rod's lever on the hinge may shrink to a tenth of the shorter arm; beyond that it pushes into the hinge
    // instead of opening it. A bent rod may span at most 0.95 of its diameter.
    private const double MinLeverFraction = 0.1;
    private const double MaxSpanFraction = 0.95;

    /// <summary>Builds the form; a straight rod has bend radius 0.</summary>
    /// <param name="nutArmMm">a, hinge axis to nut pivot, &gt; 0.</param>
    /// <param name="anchorArmMm">b, hinge axis to rod anchor, &gt; 0.</param>
    /// <param name="bendRadiusMm">ρ, radius of the bent rod's axis; 0 for a straight rod.</param>
    public SwivelledRodHinge(double nutArmMm, double anchorArmMm, double bendRadiusMm)
    {
        NutArmMm = nutArmMm;
        AnchorArmMm = anchorArmMm;
        BendRadiusMm = bendRadiusMm;
        FindLegalRange();
    }

    /// <summary>a, mm.</summary>
    public double NutArmMm { get; }

    /// <summary>b, mm.</summary>
    public double AnchorArmMm { get; }

    /// <summary>ρ, mm; 0 for a straight rod.</summary>
    public double BendRadiusMm { get; }

    /// <inheritdoc/>
    public override double RodLengthMm(double angleRad) => LengthAtMm(angleRad);

    /// <summary><see cref="RodLengthMm"/>, not virtual.</summary>
    public double LengthAtMm(double angleRad)
    {
        double chord = ChordMm(angleRad);
        return BendRadiusMm == 0 ? chord : 2 * BendRadiusMm * Math.Asin(chord / (2 * BendRadiusMm));
    }

    /// <inheritdoc/>
    public override double RodSlopeMmPerRad(double angleRad) => SlopeAtMmPerRad(angleRad);

    /// <summary><see cref="RodSlopeMmPerRad"/>, not virtual.</summary>
    public double SlopeAtMmPerRad(double angleRad)
    {
        double chord = ChordMm(angleRad);
        // At a = b and θ = 0 both ab·sinθ and c vanish; their ratio is then a·cos(θ/2).
        double slope = NutArmMm == AnchorArmMm
            ? NutArmMm * Math.Cos(angleRad / 2)
            : NutArmMm * AnchorArmMm * Math.Sin(angleRad) / chord;
        if (BendRadiusMm == 0)
        {
            return slope;
        }

        double half = chord / (2 * BendRadiusMm);
        return slope / Math.Sqrt(1 - (half * half));
    }

    /// <inheritdoc/>
    public override double AngleRad(double rodLengthMm) => AngleAtRad(rodLengthMm);

    /// <summary><see cref="AngleRad"/>, not virtual.</summary>
    public double AngleAtRad(double rodLengthMm)
    {
        if (!(0 <= rodLengthMm) || (BendRadiusMm != 0 && Math.PI * BendRadiusMm < rodLengthMm))
        {
            return double.NaN;
        }

        double chord = BendRadiusMm == 0
            ? rodLengthMm
            : 2 * BendRadiusMm * Math.Sin(rodLengthMm / (2 * BendRadiusMm));
        double difference = NutArmMm - AnchorArmMm;
        double square = ((chord * chord) - (difference * difference)) / (4 * NutArmMm * AnchorArmMm);
        if (!(0 <= square && square <= 1))
        {
            return double.NaN;
        }

        double angle = 2 * Math.Asin(Math.Sqrt(square));
        return Allows(angle) ? angle : double.NaN;
    }

    private double ChordMm(double angleRad)
    {
        double difference = NutArmMm - AnchorArmMm;
        double sine = Math.Sin(angleRad / 2);
        return Math.Sqrt((difference * difference) + (4 * NutArmMm * AnchorArmMm * sine * sine));
    }

    private void FindLegalRange()
    {
        double shorter = NutArmMm < AnchorArmMm ? NutArmMm : AnchorArmMm;
        double minLever = MinLeverFraction * shorter;

        // The straight lever ab·sinθ/c rises from 0 to the shorter arm (where c is square to it, cosθ = short/long)
        // and falls to 0 at θ = π. Bending only strengthens it, so the straight lever sets the range.
        double longer = NutArmMm < AnchorArmMm ? AnchorArmMm : NutArmMm;
        double peak = Math.Acos(shorter / longer);
        MinAngleRad = NutArmMm == AnchorArmMm ? 0 : AngleWithLever(0, peak, minLever);
        MaxAngleRad = AngleWithLever(Math.PI, peak, minLever);
        if (BendRadiusMm != 0)
        {
            double span = 2 * BendRadiusMm * MaxSpanFraction;
            double difference = longer - shorter;
            double square = ((span * span) - (difference * difference)) / (4 * shorter * longer);
            double widest = square <= 0 ? 0 : 1 <= square ? Math.PI : 2 * Math.Asin(Math.Sqrt(square));
            if (widest < MaxAngleRad)
            {
                MaxAngleRad = widest;
            }
        }
    }

    // The angle between `low` (lever too small) and `high` (lever large enough) where the lever is `minLever`.
    private double AngleWithLever(double low, double high, double minLever)
    {
        for (int i = 0; i < 60; i++)
        {
            double mid = (low + high) / 2;
            double lever = NutArmMm * AnchorArmMm * Math.Sin(mid) / ChordMm(mid);
            if (lever < minLever)
            {
                low = mid;
            }
            else
            {
                high = mid;
            }
        }

        return high;
    }
}
