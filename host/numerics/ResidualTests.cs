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
        // Logarithms: the numbers of arrangements overflow from about a thousand readings on.
        double all = LogChoose(above + below, above);
        double chance = 0;
        for (int k = 2; k <= runs; k++)
        {
            int half = k / 2;
            chance += k % 2 == 0
                ? 2 * Share(half - 1, half - 1)
                : Share(half, half - 1) + Share(half - 1, half);
        }

        return Math.Min(1, chance);

        double Share(int a, int b) => Math.Exp(LogChoose(above - 1, a) + LogChoose(below - 1, b) - all);
    }

    /// <summary>Chance of so large a scatter if the expected errors are true (χ² with the fit's degrees of
    /// freedom).</summary>
    public static double LargeScatter(double scatterOverExpected, int freedom) =>
        freedom <= 0 || double.IsNaN(scatterOverExpected)
        ? 1
        : 1 - ChiSquared.CDF(freedom, freedom * scatterOverExpected * scatterOverExpected);

    private static double LogChoose(int n, int k) => k < 0 || k > n
        ? double.NegativeInfinity
        : SpecialFunctions.FactorialLn(n) - SpecialFunctions.FactorialLn(k) - SpecialFunctions.FactorialLn(n - k);
}
