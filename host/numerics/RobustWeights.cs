// The weights of robust fits and the scale of their residuals. Not here: the fits.

namespace Hourhinge.Numerics;

/// <summary>Weight functions of M-estimates and what belongs to them.</summary>
public static class RobustWeights
{
    /// <summary>Standard deviation of Gaussian noise over its median absolute value.</summary>
    public const double SigmaPerMedianAbs = 1.4826;

    /// <summary>Huber's limit with 95 % efficiency on Gaussian noise (Huber 1964, Ann. Math. Stat. 35, 73).</summary>
    public const double Huber95 = 1.345;

    /// <summary>Tukey's limit with 95 % efficiency on Gaussian noise, 4.685 (common practice, no source).</summary>
    public const double Tukey95 = 4.7;

    /// <summary>Huber's weight: 1 up to the limit, limit/|r| beyond it.</summary>
    /// <param name="residual">Residual.</param>
    /// <param name="limit">In the residual's unit, &gt; 0.</param>
    public static double Huber(double residual, double limit) =>
        Math.Min(1, limit / Math.Max(Math.Abs(residual), 1e-300));

    /// <summary>Tukey's biweight: (1 − (r/limit)²)², 0 beyond the limit.</summary>
    /// <param name="residual">Residual.</param>
    /// <param name="limit">In the residual's unit, &gt; 0.</param>
    public static double Tukey(double residual, double limit)
    {
        double u = residual / limit;
        return Math.Abs(u) < 1 ? (1 - (u * u)) * (1 - (u * u)) : 0;
    }

    /// <summary>
    /// Standard deviation that Huber's M-estimate of these residuals implies for its covariance: √(Σψ²/freedom) over
    /// the share of residuals within the limit, with the small-sample factor 1 + p(1−m)/(n·m)
    /// (Huber, Robust Statistics, 1981, §7.6; from memory).
    /// </summary>
    /// <param name="residuals">Residuals.</param>
    /// <param name="limit">Huber's limit, same unit.</param>
    /// <param name="freedom">Degrees of freedom, &gt; 0.</param>
    /// <param name="parametersPerResidual">p/n of the whole fit.</param>
    /// <param name="minInside">Lower bound on the share within the limit.</param>
    public static double HuberSigma(
        IReadOnlyCollection<double> residuals, double limit, double freedom, double parametersPerResidual,
        double minInside)
    {
        double psi2 = residuals.Sum(r => Math.Pow(Math.Clamp(r, -limit, limit), 2));
        double share = residuals.Count(r => Math.Abs(r) <= limit) / (double)Math.Max(1, residuals.Count);
        double inside = Math.Max(share, minInside);
        return Math.Sqrt(psi2 / freedom) / inside * (1 + (parametersPerResidual * (1 - share) / inside));
    }
}
