// Robust linear least squares over several kinds of measurement at once (channels, each with its own unknown noise):
// Huber's weights by iteration, each channel's noise from its own residuals, covariance after Huber & Ronchetti,
// Robust Statistics, 2nd ed. 2009, section 7.6 (from memory).
using MathNet.Numerics.Distributions;
using MathNet.Numerics.LinearAlgebra;

namespace Hourhinge.Numerics;

/// <summary>Result of a robust linear fit.</summary>
public sealed class RobustLinearFit
{
    private const double HuberLimit = RobustWeights.Huber95;

    // Variance of the mean over that of Huber's estimator at this limit, Gaussian noise.
    private const double Efficiency = 0.95;
    private const int Rounds = 30;

    private RobustLinearFit(Vector<double> values, Matrix<double> covariance, double[] pulls, double[] noise,
        double degrees)
    {
        Values = values;
        Covariance = covariance;
        Pulls = pulls;
        ChannelNoise = noise;
        DegreesOfFreedom = degrees;
    }

    /// <summary>Parameters.</summary>
    public Vector<double> Values { get; }

    /// <summary>Covariance of the parameters.</summary>
    public Matrix<double> Covariance { get; }

    /// <summary>Residual of each row in units of its channel's noise.</summary>
    public IReadOnlyList<double> Pulls { get; }

    /// <summary>Noise found for each channel, in the rows' units after division by their prior sigma.</summary>
    public IReadOnlyList<double> ChannelNoise { get; }

    /// <summary>Degrees of freedom of the least determined channel, for Student's t.</summary>
    public double DegreesOfFreedom { get; }

    /// <summary>Fits rows·parameters = values.</summary>
    /// <param name="rows">Design matrix, one row a measurement.</param>
    /// <param name="values">Measurements.</param>
    /// <param name="sigmas">Prior standard errors: only their ratios within a channel count.</param>
    /// <param name="channels">Channel of each row, from 0.</param>
    /// <returns>The fit, or null where the rows do not determine the parameters.</returns>
    public static RobustLinearFit? Solve(Matrix<double> rows, Vector<double> values, double[] sigmas, int[] channels)
    {
        int n = rows.RowCount, p = rows.ColumnCount, kinds = channels.Max() + 1;
        if (n <= p)
        {
            return null;
        }

        double[] noise = Enumerable.Repeat(1.0, kinds).ToArray();
        double[] scale = new double[n];
        Vector<double>? beta = null;
        double[] pulls = new double[n];
        Matrix<double> inverse = rows;
        double[] weights = Enumerable.Repeat(1.0, n).ToArray();
        double least = 1;
        // Columns differ by many orders of magnitude; scale them before judging whether they are independent.
        double[] columnNorm = Enumerable.Range(0, p).Select(j => Math.Max(rows.Column(j).L2Norm(), 1e-300)).ToArray();
        for (int round = 0; round < Rounds; round++)
        {
            for (int i = 0; i < n; i++)
            {
                scale[i] = sigmas[i] * noise[channels[i]];
            }

            Matrix<double> x = Matrix<double>.Build.Dense(n, p, (i, j) => rows[i, j] / scale[i] / columnNorm[j]);
            Vector<double> y = Vector<double>.Build.Dense(n, i => values[i] / scale[i]);
            Matrix<double> xw = Matrix<double>.Build.Dense(n, p, (i, j) => x[i, j] * weights[i]);
            Matrix<double> normal = xw.TransposeThisAndMultiply(x);
            if (normal.ConditionNumber() is not (> 0 and < 1e13))
            {
                return null;
            }

            Vector<double> next = normal.Solve(xw.TransposeThisAndMultiply(y));
            Vector<double> residual = y - (x * next);
            inverse = x.TransposeThisAndMultiply(x).Inverse();
            double[] leverage = Enumerable.Range(0, n).Select(i => x.Row(i) * (inverse * x.Row(i))).ToArray();
            double change = 0;
            least = double.MaxValue;
            for (int k = 0; k < kinds; k++)
            {
                int[] mine = Enumerable.Range(0, n).Where(i => channels[i] == k).ToArray();
                double free = Math.Max(mine.Sum(i => 1 - leverage[i]), 0.5);
                // First rounds: the median of the residuals, which outliers cannot widen. Then Huber's own estimate.
                double found;
                if (round < 4)
                {
                    found = RobustWeights.SigmaPerMedianAbs * Median.Of(mine.Select(i => Math.Abs(residual[i])))
                        * Math.Sqrt(mine.Length / free);
                }
                else
                {
                    found = Math.Sqrt(Efficiency) * RobustWeights.HuberSigma(
                        [.. mine.Select(i => residual[i])], HuberLimit, free, p / (double)n, 0.2);
                }
                found = Math.Clamp(found, 0.05, 20);
                change = Math.Max(change, Math.Abs(found - 1));
                noise[k] = Math.Max(noise[k] * found, 1e-12);
                least = Math.Min(least, free);
            }
            beta = next;
            for (int i = 0; i < n; i++)
            {
                pulls[i] = residual[i];
                weights[i] = RobustWeights.Huber(residual[i], HuberLimit);
            }
            if (round > 6 && change < 1e-3)
            {
                break;
            }
        }
        Matrix<double> covariance =
            Matrix<double>.Build.Dense(p, p, (i, j) => inverse[i, j] / columnNorm[i] / columnNorm[j] / Efficiency);
        Vector<double> back = Vector<double>.Build.Dense(p, j => beta![j] / columnNorm[j]);
        return new RobustLinearFit(back, covariance, pulls, noise, least);
    }

    /// <summary>A linear combination of parameters with its uncertainty.</summary>
    public Estimate Combine(params (int Index, double Factor)[] terms)
    {
        double value = 0, variance = 0;
        foreach ((int i, double f) in terms)
        {
            value += f * Values[i];
            foreach ((int j, double g) in terms)
            {
                variance += f * g * Covariance[i, j];
            }
        }
        return Of(value, Math.Sqrt(Math.Max(variance, 0)));
    }

    /// <summary>A value and its standard error with this fit's t factor.</summary>
    public Estimate Of(double value, double sigma) =>
        new(value, sigma, sigma * StudentT.InvCDF(0, 1, Math.Max(DegreesOfFreedom, 1), 0.975));
}
