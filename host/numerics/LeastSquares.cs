// Nonlinear least squares: the minimum, and how sharp it is. Knows nothing of rigs or of outliers (RobustFit.cs).

using MathNet.Numerics.LinearAlgebra;

namespace Hourhinge.Numerics;

/// <summary>
/// The minimum of Σ w·r(p)² by the Levenberg-Marquardt method (Marquardt 1963, J. SIAM 11, 431), each step solved by
/// QR of the damped Jacobian in parameters divided by their scales. Derivatives are central differences of the
/// residuals. Accuracy, measured on NIST's reference datasets: NistReferenceTests.
/// </summary>
public sealed class LeastSquares
{
    private const int MostSteps = 500;

    private LeastSquares(double[] parameters, double[] residuals, Matrix<double> jacobian, bool converged)
    {
        Parameters = parameters;
        Residuals = residuals;
        Jacobian = jacobian;
        Converged = converged;
    }

    /// <summary>p at the minimum.</summary>
    public double[] Parameters { get; }

    /// <summary>r at the minimum, unweighted.</summary>
    public double[] Residuals { get; }

    /// <summary>∂r/∂p at the minimum, unweighted.</summary>
    public Matrix<double> Jacobian { get; }

    /// <summary>False when the steps ran out before the minimum was reached.</summary>
    public bool Converged { get; }

    /// <summary>Finds the minimum.</summary>
    /// <param name="residuals">r(p), each divided by its expected error; NaN where the model does not reach.</param>
    /// <param name="start">p to start from; r must be finite there.</param>
    /// <param name="scale">A change of each parameter that matters, &gt; 0: sets steps of derivatives and
    /// damping.</param>
    /// <param name="weights">w, 0 to 1.</param>
    public static LeastSquares Solve(Func<double[], double[]> residuals, double[] start, double[] scale,
        double[] weights)
    {
        double[] p = [.. start];
        double[] r = residuals(p);
        double cost = Cost(r, weights);
        double damping = 1e-3;
        bool converged = false;
        Matrix<double> jacobian = Derivatives(residuals, p, r, scale);
        for (int step = 0; step < MostSteps && !converged; step++)
        {
            double[] move = Step(jacobian, r, scale, weights, damping);
            double[] tried = [.. p.Zip(move, (a, b) => a + b)];
            double[] rTried = residuals(tried);
            double costTried = Cost(rTried, weights);
            bool tiny = move.Zip(scale, (m, s) => Math.Abs(m / s)).Max() < 1e-10;
            if (costTried <= cost)
            {
                converged = tiny || cost - costTried <= 1e-15 * cost;
                (p, r, cost) = (tried, rTried, costTried);
                jacobian = Derivatives(residuals, p, r, scale);
                damping = Math.Max(damping / 10, 1e-14);
            }
            else
            {
                converged = tiny; // Nothing better within reach of rounding.
                damping *= 10;
            }
        }

        return new LeastSquares(p, r, jacobian, converged);
    }

    // NaN (outside the model) never compares as smaller, so that such steps are refused.
    private static double Cost(double[] r, double[] w) => r.Zip(w, (a, b) => b == 0 ? 0 : b * a * a).Sum();

    private static double[] Step(Matrix<double> jacobian, double[] r, double[] scale, double[] weights, double damping)
    {
        int n = r.Length;
        int m = scale.Length;
        Matrix<double> a = Matrix<double>.Build.Dense(n + m, m);
        Vector<double> b = Vector<double>.Build.Dense(n + m);
        double[] length = new double[m];
        for (int i = 0; i < n; i++)
        {
            double root = Math.Sqrt(weights[i]);
            for (int j = 0; j < m && root > 0; j++)
            {
                a[i, j] = root * jacobian[i, j] * scale[j];
                length[j] += a[i, j] * a[i, j];
            }

            b[i] = root > 0 ? -root * r[i] : 0;
        }

        for (int j = 0; j < m; j++)
        {
            a[n + j, j] = Math.Sqrt(damping * Math.Max(length[j], 1e-12));
        }

        Vector<double> x = a.QR(MathNet.Numerics.LinearAlgebra.Factorization.QRMethod.Thin).Solve(b);
        return [.. x.Select((v, j) => v * scale[j])];
    }

    // The step that balances rounding and curvature, ε^(1/3) of the scale; one-sided at the edge of the model.
    private static Matrix<double> Derivatives(Func<double[], double[]> residuals, double[] p, double[] at,
        double[] scale)
    {
        Matrix<double> jacobian = Matrix<double>.Build.Dense(at.Length, p.Length);
        for (int j = 0; j < p.Length; j++)
        {
            double h = 6e-6 * scale[j];
            double[] shifted = [.. p];
            shifted[j] = p[j] + h;
            double[] above = residuals(shifted);
            shifted[j] = p[j] - h;
            double[] below = residuals(shifted);
            for (int i = 0; i < at.Length; i++)
            {
                double slope = (above[i] - below[i]) / (2 * h);
                slope = double.IsNaN(slope) ? (above[i] - at[i]) / h : slope;
                slope = double.IsNaN(slope) ? (at[i] - below[i]) / h : slope;
                jacobian[i, j] = double.IsNaN(slope) ? 0 : slope;
            }
        }

        return jacobian;
    }
}
