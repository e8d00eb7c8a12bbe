// The contact of a double arm: the tip of one arm slides or rolls along the other arm.

using System;

namespace Hourhinge.SharedMath.Geometry;

/// <summary>
/// Two arms on parallel hinges in one plane. The tip arm turns about the origin; its tip is at distance L, at angle τ.
/// The riding arm turns about the point g, at angle ρ; the tip (or the centre of its roller) stays at distance w from
/// the riding arm's line, on its left when w &gt; 0. Immutable. Angles in radians from one common direction, mm.
/// </summary>
/// <remarks>
/// Derivation. With e(α) = (cosα, sinα), n(α) = (−sinα, cosα) and W = L·e(τ) − g, the tip seen from the riding arm's
/// hinge, the contact says n(ρ)·W = w.
/// τ known: n(ρ)·W = |W| sin(arg W − ρ), so ρ = arg W − asin(w / |W|), the solution with the tip ahead of the hinge.
/// ρ known: n(ρ)·e(τ) = sin(τ − ρ), so τ = ρ + asin((w + n(ρ)·g) / L), the solution with |τ − ρ| &lt; 90°.
/// Differentiating L sin(τ − ρ) − n(ρ)·g = w, with dn/dρ = −e: L cos(τ − ρ)(dτ − dρ) + e(ρ)·g dρ = 0, hence
///   dρ/dτ = L cos(τ − ρ) / (e(ρ)·W),
/// positive as long as the tip is ahead of the riding arm's hinge and the arms are less than 90° apart.
/// </remarks>
public sealed class SlidingContact
{
    // At 60° between the arms the tip slides twice as far as it moves the arm; friction then holds it (common
    // practice, no source).
    private const double MinCosine = 0.5;

    // Nearer to the riding arm's hinge the tip has no lever on it.
    private const double MinReachFraction = 0.1;

    private readonly double _length;
    private readonly double _hingeX;
    private readonly double _hingeY;
    private readonly double _offset;

    /// <summary>Builds a contact.</summary>
    /// <param name="lengthMm">L, &gt; 0.</param>
    /// <param name="hingeXMm">g along the common direction.</param>
    /// <param name="hingeYMm">g across it.</param>
    /// <param name="offsetMm">w.</param>
    public SlidingContact(double lengthMm, double hingeXMm, double hingeYMm, double offsetMm)
    {
        _length = lengthMm;
        _hingeX = hingeXMm;
        _hingeY = hingeYMm;
        _offset = offsetMm;
    }

    /// <summary>ρ for a τ; NaN where the arms cannot meet.</summary>
    public double RidingRad(double tipRad)
    {
        double x = (_length * Math.Cos(tipRad)) - _hingeX;
        double y = (_length * Math.Sin(tipRad)) - _hingeY;
        double distance = Math.Sqrt((x * x) + (y * y));
        return Math.Abs(_offset) < distance ? Math.Atan2(y, x) - Math.Asin(_offset / distance) : double.NaN;
    }

    /// <summary>τ for a ρ; NaN where the arms cannot meet.</summary>
    public double TipRad(double ridingRad)
    {
        double sine = (_offset - (_hingeX * Math.Sin(ridingRad)) + (_hingeY * Math.Cos(ridingRad))) / _length;
        return Math.Abs(sine) < 1 ? ridingRad + Math.Asin(sine) : double.NaN;
    }

    /// <summary>dρ/dτ for two angles that meet.</summary>
    public double RidingPerTip(double tipRad, double ridingRad) =>
        _length * Math.Cos(tipRad - ridingRad) / ReachMm(tipRad, ridingRad);

    /// <summary>True when both angles are numbers and the tip pushes the arm properly: at most 60° between the arms,
    /// and the contact at least a tenth of L from the riding arm's hinge.</summary>
    public bool Works(double tipRad, double ridingRad) => !double.IsNaN(tipRad) && !double.IsNaN(ridingRad)
        && MinCosine <= Math.Cos(tipRad - ridingRad)
        && MinReachFraction * _length <= ReachMm(tipRad, ridingRad);

    // e(ρ)·W: from the riding arm's hinge to the contact, along the arm.
    private double ReachMm(double tipRad, double ridingRad) => (_length * Math.Cos(tipRad - ridingRad))
        - (_hingeX * Math.Cos(ridingRad)) - (_hingeY * Math.Sin(ridingRad));
}
