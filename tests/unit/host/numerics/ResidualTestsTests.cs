using Hourhinge.Numerics;

namespace Hourhinge.Tests.Host.Numerics;

public class ResidualTestsTests
{
    // For many readings the number of runs is normal with mean 1 + 2ab/n and variance (m - 1)(m - 2)/(n - 1), m the
    // mean (Wald and Wolfowitz 1940). Two thousand of each sign, two deviations too few runs: Φ(-2) = 0.02275.
    [Fact]
    public void Runs_of_thousands_of_readings_follow_the_normal_limit()
    {
        const int Each = 2000;
        double mean = 1 + (2.0 * Each * Each / (2 * Each));
        double deviation = Math.Sqrt((mean - 1) * (mean - 2) / ((2 * Each) - 1));
        int runs = 2 * (int)Math.Round((mean - (2 * deviation)) / 2);
        double[] residuals = [.. Enumerable.Range(0, runs).SelectMany(k =>
            Enumerable.Repeat(k % 2 == 0 ? 1.0 : -1.0, UpTo((k / 2) + 1) - UpTo(k / 2)))];
        int UpTo(int block) => block * Each / (runs / 2);
        Assert.Equal(2 * Each, residuals.Length);
        Assert.InRange(ResidualTests.FewRuns(residuals), 0.0215, 0.0245);
        Assert.InRange(ResidualTests.FewRuns([.. residuals.Order()]), 0, 1e-12);
    }
}
