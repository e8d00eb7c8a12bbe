using System.Runtime.CompilerServices;
using MathNet.Numerics;
using MathNet.Numerics.LinearAlgebra;
using MathNet.Numerics.LinearAlgebra.Factorization;
using MathNet.Numerics.Optimization;

namespace Hourhinge.Numerics;

/// <summary>
/// The minimum of Σ w·r(p)² by MathNet's Levenberg-Marquardt method, in parameters divided by their scales.
/// Derivatives are given, or central differences of the residuals. A step into a region where the residuals are NaN is
/// rejected. Accuracy, measured on NIST's reference datasets: NistReferenceTests.
/// </summary>
public sealed class LeastSquares
{
    private const int MaxIterations = 500;

    // A change of this part of a parameter's scale does not matter; nor one of the second while weights still change.
    private const double StepTolerance = 1e-10, RoughTolerance = 1e-5;

    // At first, as a part of the largest term of JᵀWJ. Near the minimum undamped steps get there at once.
    private const double FarDamping = 1e-3, NearDamping = 1e-9;

    // MINPACK's orthogonality test (Moré 1978, from memory): residuals and every column of the Jacobian at right
    // angles within this, as far as rounding allows.
    private const double CosineTolerance = 1e-7;

    // Instead of NaN: so large that the step is rejected, and still finite when squared and summed.
    private const double Rejected = 1e140;

    // The matrices are small: MathNet's threads would cost more than they save.
    static LeastSquares() => Control.UseSingleThread();

    private LeastSquares(double[] parameters, double[] residuals, Matrix<double> jacobian, ExitCondition exit,
        bool converged)
    {
        Parameters = parameters;
        Residuals = residuals;
        Jacobian = jacobian;
        Exit = exit;
        Converged = converged;
    }

    /// <summary>p at the minimum.</summary>
    public double[] Parameters { get; }

    /// <summary>r at the minimum, unweighted.</summary>
    public double[] Residuals { get; }

    /// <summary>∂r/∂p at the minimum, unweighted.</summary>
    public Matrix<double> Jacobian { get; }

    /// <summary>Why the minimizer stopped.</summary>
    public ExitCondition Exit { get; }

    /// <summary>False when the iterations ran out or the values became invalid before the minimum was
    /// reached.</summary>
    public bool Converged { get; }

    /// <summary>Finds the minimum.</summary>
    /// <param name="residuals">r(p), each divided by its expected error; NaN where the model is not defined.</param>
    /// <param name="start">p to start from.</param>
    /// <param name="scale">A change of each parameter that matters, &gt; 0: sets steps of derivatives and
    /// damping.</param>
    /// <param name="weights">w, 0 to 1; null for all 1.</param>
    /// <param name="jacobian">Fills ∂r/∂p at p; null for central differences.</param>
    public static LeastSquares Solve(Func<double[], double[]> residuals, double[] start, double[] scale,
        double[]? weights = null, Action<double[], Matrix<double>>? jacobian = null) =>
        Run(residuals, start, scale, weights, jacobian, FarDamping, StepTolerance);

    /// <summary>The same from a start that is near the minimum, with numerical derivatives: to
    /// 10⁻⁵ of the scales, or as far as <see cref="Solve"/>.</summary>
    public static LeastSquares SolveNear(Func<double[], double[]> residuals, double[] start, double[] scale,
        double[] weights, bool isRough) =>
        Run(residuals, start, scale, weights, null, NearDamping, isRough ? RoughTolerance : StepTolerance);

    private static LeastSquares Run(Func<double[], double[]> residuals, double[] start, double[] scale,
        double[]? weights, Action<double[], Matrix<double>>? jacobian, double damping, double stepTolerance)
    {
        double[] first = residuals(start);
        int n = first.Length, m = start.Length;
        double[]? roots = weights?.Select(Math.Sqrt).ToArray();
        // The internal parameters begin at 1, so that the step tolerance, which MathNet takes relative to the
        // parameters, is one of their scales.
        double[] External(Vector<double> q) => [.. start.Select((s, j) => s + ((q[j] - 1) * scale[j]))];
        Matrix<double> Slopes(double[] p, double[] at)
        {
            Matrix<double> slopes = Matrix<double>.Build.Dense(n, m);
            if (jacobian is null)
            {
                Differentiate(residuals, p, at, scale, slopes.AsColumnMajorArray());
            }
            else
            {
                jacobian(p, slopes);
            }

            return slopes;
        }

        // The minimizer asks for residuals and then for slopes at the same place. It reports the place it tried last,
        // even when it rejected that; the best one is kept here.
        Vector<double>? lastPoint = null;
        double[] lastResiduals = first;
        Vector<double> best = Vector<double>.Build.Dense(m, 1);
        double bestCost = double.PositiveInfinity;
        double[] At(Vector<double> q)
        {
            if (lastPoint is null || !lastPoint.Equals(q))
            {
                lastPoint = q.Clone();
                lastResiduals = residuals(External(q));
                double cost = 0;
                for (int i = 0; i < n; i++)
                {
                    double w = weights?[i] ?? 1;
                    cost += w == 0 ? 0 : w * lastResiduals[i] * lastResiduals[i];
                }

                if (cost < bestCost)
                {
                    (best, bestCost) = (lastPoint, cost);
                }
            }

            return lastResiduals;
        }

        Vector<double> Values(Vector<double> q, Vector<double> x)
        {
            double[] r = At(q);
            return Vector<double>.Build.Dense(n, i => roots?[i] == 0 ? 0
                : double.IsFinite(r[i]) ? (roots?[i] ?? 1) * r[i] : Rejected);
        }

        Matrix<double> Scaled(Vector<double> q, Vector<double> x)
        {
            Matrix<double> slopes = Slopes(External(q), At(q));
            Scale(slopes.AsColumnMajorArray(), scale, roots);
            return slopes;
        }

        Vector<double> zeros = Vector<double>.Build.Dense(n);
        IObjectiveModel model = ObjectiveFunction.NonlinearModel(Values, Scaled, zeros, zeros);
        ExitCondition exit = Minimize(model, best.Clone(), damping, stepTolerance);
        double[] parameters = External(best);
        double[] found = residuals(parameters);
        Matrix<double> unscaled = Slopes(parameters, found);
        bool valid = found.Where((_, i) => roots?[i] != 0).All(double.IsFinite);
        bool stopped = exit is ExitCondition.RelativePoints or ExitCondition.RelativeGradient
            or ExitCondition.Converged;
        return new LeastSquares(parameters, found, unscaled, exit,
            valid && (stopped || IsMinimum(found, unscaled, weights)));
    }

    /// <summary>(JᵀWJ)⁻¹·Σwr²/(n − p): the covariance of the parameters with the scatter found; n counts residuals
    /// of weight above 0.</summary>
    /// <param name="weights">As given to <see cref="Solve"/>.</param>
    public Matrix<double> Covariance(double[]? weights = null)
    {
        int used = weights?.Count(w => w > 0) ?? Residuals.Length;
        double sum = Residuals.Select((r, i) => weights?[i] == 0 ? 0 : (weights?[i] ?? 1) * r * r).Sum();
        Matrix<double> weighted = weights is null ? Jacobian : Matrix<double>.Build.Dense(
            Jacobian.RowCount, Jacobian.ColumnCount, (i, j) => Math.Sqrt(weights[i]) * Jacobian[i, j]);
        return NormalInverse(weighted) * (sum / Math.Max(used - Parameters.Length, 1));
    }

    /// <summary>Singular values and right singular vectors of a tall matrix: those of R of its QR decomposition, so
    /// the cost is linear in the rows; MathNet's Svd of the matrix itself builds rows × rows.</summary>
    /// <param name="matrix">At least one row.</param>
    public static Svd<double> TallSvd(Matrix<double> matrix) =>
        matrix.RowCount > matrix.ColumnCount ? matrix.QR(QRMethod.Thin).R.Svd() : matrix.Svd();

    /// <summary>(JᵀJ)⁻¹ by the singular values of J with its columns at unit length; a column of zeros gets
    /// infinity.</summary>
    public static Matrix<double> NormalInverse(Matrix<double> jacobian)
    {
        int m = jacobian.ColumnCount;
        double[] norm = [.. jacobian.EnumerateColumns().Select(c => c.L2Norm())];
        Matrix<double> unit =
            Matrix<double>.Build.Dense(jacobian.RowCount, m, (i, j) => norm[j] > 0 ? jacobian[i, j] / norm[j] : 0);
        Svd<double> svd = TallSvd(unit);
        Matrix<double> v = svd.VT.Transpose();
        const double Floor = 1e-13;
        return Matrix<double>.Build.Dense(m, m, (i, j) =>
        {
            double sum = 0;
            for (int k = 0; k < svd.S.Count; k++)
            {
                double s = Math.Max(svd.S[k], Floor);
                sum += v[i, k] * v[j, k] / (s * s);
            }

            return norm[i] > 0 && norm[j] > 0 ? sum / (norm[i] * norm[j]) : i == j ? double.PositiveInfinity : 0;
        });
    }

    private static ExitCondition Minimize(IObjectiveModel model, Vector<double> start, double damping,
        double stepTolerance)
    {
        var minimizer = new LevenbergMarquardtMinimizer(damping, gradientTolerance: 0, stepTolerance,
            functionTolerance: 0, MaxIterations);
        return minimizer.FindMinimum(model, start).ReasonForExit;
    }

    private static bool IsMinimum(double[] r, Matrix<double> jacobian, double[]? weights)
    {
        double Weight(int i) => weights?[i] ?? 1;
        double length = Math.Sqrt(r.Select((v, i) => Weight(i) * v * v).Sum());
        return Enumerable.Range(0, jacobian.ColumnCount).All(j =>
        {
            double dot = 0, square = 0;
            for (int i = 0; i < r.Length; i++)
            {
                dot += Weight(i) * r[i] * jacobian[i, j];
                square += Weight(i) * jacobian[i, j] * jacobian[i, j];
            }

            return Math.Abs(dot) <= CosineTolerance * length * Math.Sqrt(square);
        });
    }

    // The step that balances rounding and curvature, ε^(1/3) of the scale; one-sided at the edge of the model.
    [MethodImpl(MethodImplOptions.AggressiveOptimization)]
    private static void Differentiate(Func<double[], double[]> residuals, double[] p, double[] at, double[] scale,
        double[] slopes)
    {
        double[] shifted = [.. p];
        for (int j = 0; j < p.Length; j++)
        {
            double h = 6e-6 * scale[j];
            shifted[j] = p[j] + h;
            double[] above = residuals(shifted);
            shifted[j] = p[j] - h;
            double[] below = residuals(shifted);
            shifted[j] = p[j];
            Span<double> column = slopes.AsSpan(j * at.Length, at.Length);
            for (int i = 0; i < column.Length; i++)
            {
                double slope = (above[i] - below[i]) / (2 * h);
                slope = double.IsNaN(slope) ? (above[i] - at[i]) / h : slope;
                slope = double.IsNaN(slope) ? (at[i] - below[i]) / h : slope;
                column[i] = double.IsNaN(slope) ? 0 : slope;
            }
        }
    }

    // Per scale of a parameter, and weighted.
    [MethodImpl(MethodImplOptions.AggressiveOptimization)]
    private static void Scale(double[] slopes, double[] scale, double[]? roots)
    {
        int n = slopes.Length / scale.Length;
        for (int j = 0; j < scale.Length; j++)
        {
            Span<double> column = slopes.AsSpan(j * n, n);
            for (int i = 0; i < n; i++)
            {
                double slope = column[i] * scale[j] * (roots?[i] ?? 1);
                column[i] = double.IsFinite(slope) ? slope : 0;
            }
        }
    }
}
