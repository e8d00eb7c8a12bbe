// Fixed rod (tangent form): the rod stays square to one board; the other board rides on its rounded tip.

using System;

namespace Hourhinge.SharedMath.Geometry;

/// <summary>
/// Rod at distance R from the hinge axis, square to the lower board. The riding surface of the other board lies d
/// nearer to the rod's foot than the hinge axis does (d &lt; 0: farther), and the tip is a ball of radius r.
/// The ball's centre is d + r below the line through the axis along the board, so its height is
/// h = R tanθ − (d + r)/cosθ, and the tip is at s = h + r (from the picture, by the distance of a point to a line).
/// Driven at constant speed from square (θ = 0) with d = r = 0 it lags by θ³/3 + ... since θ = atan(s/R)
/// (power series of the arctangent, Abramowitz and Stegun 4.4.42); the offset adds −(d + r)/R · θ²/2.
/// </summary>
public sealed class FixedRodHinge : HingeGeometry
{
    // Beyond 60° the tip slides along the board four times as fast as it raises it; no practical build is stiff enough.
    private const double SteepestAngleDeg = 60;

    /// <summary>Builds the form.</summary>
    /// <param name="radiusMm">R, hinge axis to rod axis along the lower board, &gt; 0.</param>
    /// <param name="surfaceOffsetMm">d, mm; |d + r| must be below R/2.</param>
    /// <param name="tipRadiusMm">r, mm, &gt;= 0; 0 for a pointed tip.</param>
    public FixedRodHinge(double radiusMm, double surfaceOffsetMm, double tipRadiusMm)
    {
        RadiusMm = radiusMm;
        SurfaceOffsetMm = surfaceOffsetMm;
        TipRadiusMm = tipRadiusMm;
        MinAngleRad = 0;
        MaxAngleRad = AngleUnits.FromDeg(SteepestAngleDeg);
    }

    /// <summary>R, mm.</summary>
    public double RadiusMm { get; }

    /// <summary>d, mm.</summary>
    public double SurfaceOffsetMm { get; }

    /// <summary>r, mm.</summary>
    public double TipRadiusMm { get; }

    /// <inheritdoc/>
    public override double RodLengthMm(double angleRad) => LengthAtMm(angleRad);

    /// <summary><see cref="RodLengthMm"/>, not virtual.</summary>
    public double LengthAtMm(double angleRad) =>
        (RadiusMm * Math.Tan(angleRad)) - ((SurfaceOffsetMm + TipRadiusMm) / Math.Cos(angleRad)) + TipRadiusMm;

    /// <inheritdoc/>
    public override double RodSlopeMmPerRad(double angleRad) => SlopeAtMmPerRad(angleRad);

    /// <summary><see cref="RodSlopeMmPerRad"/>, not virtual.</summary>
    public double SlopeAtMmPerRad(double angleRad)
    {
        double cosine = Math.Cos(angleRad);
        return (RadiusMm - ((SurfaceOffsetMm + TipRadiusMm) * Math.Sin(angleRad))) / (cosine * cosine);
    }

    /// <inheritdoc/>
    public override double AngleRad(double rodLengthMm) => AngleAtRad(rodLengthMm);

    /// <summary><see cref="AngleRad"/>, not virtual.</summary>
    public double AngleAtRad(double rodLengthMm)
    {
        double height = rodLengthMm - TipRadiusMm;
        double reach = Math.Sqrt((RadiusMm * RadiusMm) + (height * height));
        double angle = Math.Atan2(height, RadiusMm) + Math.Asin((SurfaceOffsetMm + TipRadiusMm) / reach);
        return Allows(angle) ? angle : double.NaN;
    }
}
