// The shape that the stars of a frame share, as the vector that elongations add in: (Cxx - Cyy, 2 Cxy). A uniform trail
// of length L at an angle a adds L²/12 (cos 2a, sin 2a).
using Hourhinge.Frames.Stars;
using Hourhinge.Numerics;

namespace Hourhinge.Frames.Grading;

/// <summary>Elongation common to a frame's stars.</summary>
/// <param name="Q">Median of Cxx - Cyy, px².</param>
/// <param name="U">Median of 2 Cxy, px².</param>
/// <param name="ErrorPx2">Standard error of each, px².</param>
/// <param name="FwhmPx">Median width, px.</param>
/// <param name="Ratio">Median of long over short axis.</param>
internal readonly record struct CommonShape(double Q, double U, double ErrorPx2, double FwhmPx, double Ratio)
{
    // A uniform trail of length L adds L²/12 to the variance along it.
    private const double TrailVariance = 12;

    // Standard error of a median over that of a mean, and standard deviation over median deviation, of a Gaussian.
    private const double MedianError = 1.2533 * 1.4826;

    public double TrailPx => TrailOf(Q, U);

    public double AngleRad => 0.5 * Math.Atan2(U, Q);

    public static double TrailOf(double q, double u) => Math.Sqrt(TrailVariance * Math.Sqrt((q * q) + (u * u)));

    /// <summary>The vector of a trail.</summary>
    public static (double Q, double U) Of(double trailPx, double angleRad)
    {
        double size = trailPx * trailPx / TrailVariance;
        return (size * Math.Cos(2 * angleRad), size * Math.Sin(2 * angleRad));
    }

    /// <summary>Measures stars; zeros for none.</summary>
    public static CommonShape Of(IReadOnlyList<Star> stars)
    {
        if (stars.Count == 0)
        {
            return default;
        }

        // The lens's own faults point in and out and cancel over the frame.
        double q = Median.Of(stars.Select(s => s.Cxx - s.Cyy)), u = Median.Of(stars.Select(s => 2 * s.Cxy));
        double scatter = Math.Sqrt((Math.Pow(Median.Of(stars.Select(s => Math.Abs(s.Cxx - s.Cyy - q))), 2)
            + Math.Pow(Median.Of(stars.Select(s => Math.Abs((2 * s.Cxy) - u))), 2)) / 2);
        return new CommonShape(q, u, MedianError * scatter / Math.Sqrt(stars.Count),
            Median.Of(stars.Select(s => s.FwhmPx)), Median.Of(stars.Select(s => s.Elongation)));
    }
}
