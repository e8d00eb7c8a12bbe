// Are the residuals noise? Two questions: are they as large as the tools explain, and in no order?

using MathNet.Numerics;
using MathNet.Numerics.Distributions;

namespace Hourhinge.Numerics;

/// <summary>Tests of residuals; each gives the probability of something as bad by chance.</summary>
public static class ResidualTests
{
    /// <summary>
    /// Chance of so few changes of sign along the readings, given how many are above and below: the exact distribution
    /// of runs (Wald and Wolfowitz 1940, Ann. Math. Stat. 11, 147). 1 when all are on one side or there are none.
    /// </summary>
    public static double FewRuns(IReadOnlyList<double> residuals)
    {
        int above = residuals.Count(r => r > 0);
        int below = residuals.Count - above;
        if (above == 0 || below == 0)
        {
            return 1;
        }

        int runs = 1
            + Enumerable.Range(1, residuals.Count - 1).Count(i => (residuals[i] > 0) != (residuals[i - 1] > 0));
        double ways = 0;
        for (int k = 2; k <= runs; k++)
        {
            int half = k / 2;
            ways += k % 2 == 0
                ? 2 * Choose(above - 1, half - 1) * Choose(below - 1, half - 1)
                : (Choose(above - 1, half) * Choose(below - 1, half - 1))
                + (Choose(above - 1, half - 1) * Choose(below - 1, half));
        }

        return Math.Min(1, ways / Choose(above + below, above));
    }

    /// <summary>Chance of so large a scatter if the expected errors are true (χ² with the fit's degrees of
    /// freedom).</summary>
    public static double LargeScatter(double scatterOverExpected, int freedom) =>
        freedom <= 0 || double.IsNaN(scatterOverExpected)
        ? 1
        : 1 - ChiSquared.CDF(freedom, freedom * scatterOverExpected * scatterOverExpected);

    private static double Choose(int n, int k) => k < 0 || k > n ? 0 : SpecialFunctions.Binomial(n, k);
}
