using Hourhinge.Numerics;

namespace Hourhinge.Tests.Host.Numerics;

public class RobustFitTests
{
    /// <summary>At the end the weights are those of the residuals, and the weighted residuals are at right angles to
    /// every slope: the equations that define Huber's estimate (Huber, Robust Statistics, 1981, §7.3; from
    /// memory).</summary>
    [Theory]
    [InlineData(1, 12, 0)]
    [InlineData(2, 40, 3)]
    [InlineData(3, 700, 30)]
    public void The_fit_ends_where_its_own_weights_hold_it(int seed, int count, int wrong)
    {
        var random = new Random(seed);
        double[] x = [.. Enumerable.Range(0, count).Select(_ => random.NextDouble())];
        double[] y = [.. x.Select((v, i) => (3 * Math.Exp(0.7 * v)) + (0.2 * (random.NextDouble() - 0.5))
            + (i < wrong ? 1 + (0.3 * random.NextDouble()) : 0))];
        RobustFit fit = RobustFit.Solve(
            p => [.. x.Select((v, i) => (y[i] - (p[0] * Math.Exp(p[1] * v))) / 0.03)], [1, 0], [0.1, 0.1]);

        Assert.Equal(wrong, fit.IsOutlier.Count(o => o));
        Assert.True(fit.Converged);
        double[] used = [.. fit.Residuals.Where((_, i) => !fit.IsOutlier[i])];
        double scale = Math.Max(1, RobustWeights.SigmaPerMedianAbs
            * Math.Sqrt(used.Length / (used.Length - 2.0)) * Median.Of(used.Select(Math.Abs)));
        for (int j = 0; j < 2; j++)
        {
            double sum = 0, absolute = 0;
            for (int i = 0; i < count; i++)
            {
                double weight = fit.IsOutlier[i] ? 0 : RobustWeights.Huber(fit.Residuals[i], 2 * scale);
                Assert.InRange(fit.Weights[i], weight - 1e-5, weight + 1e-5);
                sum += weight * fit.Residuals[i] * fit.Jacobian[i, j];
                absolute += Math.Abs(weight * fit.Residuals[i] * fit.Jacobian[i, j]);
            }

            Assert.InRange(sum / absolute, -1e-5, 1e-5);
        }
    }
}
