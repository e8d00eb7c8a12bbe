// Small nonlinear least squares (Levenberg-Marquardt with numeric derivatives) on MathNet matrices, for fits with a
// handful of unknowns. Robust linear fits live in RobustFit.
using MathNet.Numerics.LinearAlgebra;

namespace Hourhinge.Numerics;

/// <summary>Result of a nonlinear fit.</summary>
/// <param name="Values">The parameters.</param>
/// <param name="Covariance">Their covariance, scaled by the residuals' variance.</param>
/// <param name="SumOfSquares">Sum of squared residuals.</param>
public sealed record SmallLeastSquaresFit(IReadOnlyList<double> Values, Matrix<double> Covariance, double SumOfSquares)
{
    /// <summary>Standard error of one parameter.</summary>
    public double Sigma(int i) => Math.Sqrt(Math.Max(Covariance[i, i], 0));
}

/// <summary>Levenberg-Marquardt.</summary>
public static class SmallLeastSquares
{
    /// <summary>Fills the residuals for given parameters.</summary>
    public delegate void Residuals(double[] parameters, double[] residuals);

    /// <summary>Minimises the sum of squared residuals; null where the problem is singular or does not
    /// converge.</summary>
    /// <param name="start">First guess; sets how many parameters there are.</param>
    /// <param name="count">How many residuals.</param>
    /// <param name="residuals">Data minus model.</param>
    public static SmallLeastSquaresFit? Solve(double[] start, int count, Residuals residuals)
    {
        int n = start.Length;
        if (count < n)
        {
            return null;
        }

        double[] p = (double[])start.Clone();
        double[] r = new double[count];
        residuals(p, r);
        double best = Square(r), damping = 1e-3;
        Matrix<double> jacobian = Matrix<double>.Build.Dense(count, n);
        for (int round = 0; round < 60; round++)
        {
            Differentiate(p, r, residuals, jacobian);
            Matrix<double> normal = jacobian.TransposeThisAndMultiply(jacobian);
            Vector<double> gradient = jacobian.TransposeThisAndMultiply(Vector<double>.Build.Dense(r));
            bool improved = false;
            double gain = 0;
            for (int attempt = 0; attempt < 12 && !improved; attempt++)
            {
                Matrix<double> damped = normal.Clone();
                for (int i = 0; i < n; i++)
                {
                    damped[i, i] = (normal[i, i] * (1 + damping)) + 1e-300;
                }

                Vector<double> step = damped.Solve(gradient);
                double[] trial = p.Select((v, i) => v - step[i]).ToArray();
                double[] tried = new double[count];
                residuals(trial, tried);
                double square = Square(tried);
                if (square <= best)
                {
                    gain = best - square;
                    (p, r, best, improved) = (trial, tried, square, true);
                    damping = Math.Max(damping / 5, 1e-12);
                }
                else
                {
                    damping *= 5;
                }
            }
            if (!improved || gain <= 1e-12 * best)
            {
                break;
            }
        }
        if (!double.IsFinite(best))
        {
            return null;
        }

        Differentiate(p, r, residuals, jacobian);
        Matrix<double> inverse = jacobian.TransposeThisAndMultiply(jacobian).Inverse();
        Matrix<double> covariance = inverse * (best / Math.Max(count - n, 1));
        return Enumerable.Range(0, n).All(i => double.IsFinite(covariance[i, i]))
            ? new SmallLeastSquaresFit(p, covariance, best) : null;
    }

    private static double Square(double[] r)
    {
        double sum = 0;
        foreach (double v in r)
        {
            sum += v * v;
        }

        return sum;
    }

    private static void Differentiate(double[] p, double[] r, Residuals residuals, Matrix<double> jacobian)
    {
        double[] moved = new double[r.Length];
        for (int i = 0; i < p.Length; i++)
        {
            double h = 1e-6 * Math.Max(Math.Abs(p[i]), 1e-3), keep = p[i];
            p[i] = keep + h;
            residuals(p, moved);
            p[i] = keep;
            for (int k = 0; k < r.Length; k++)
            {
                jacobian[k, i] = (moved[k] - r[k]) / h;
            }
        }
    }
}
