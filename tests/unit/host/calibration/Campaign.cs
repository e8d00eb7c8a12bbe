using System.Globalization;
using MathNet.Numerics.Distributions;

namespace Hourhinge.Tests.Host.Calibration;

/// <summary>Sizes of the coverage campaigns: small by default, set by HOURHINGE_COVERAGE (300 is the full
/// one).</summary>
public static class Campaign
{
    /// <summary>Number of trials.</summary>
    public static int Trials(int byDefault) =>
        int.TryParse(Environment.GetEnvironmentVariable("HOURHINGE_COVERAGE"), NumberStyles.None,
            CultureInfo.InvariantCulture, out int count) && count > 0 ? count : byDefault;

    /// <summary>Exact two-sided binomial test: chance of a share as far from 95 % as this.</summary>
    public static double Chance(int hits, int trials)
    {
        double p = Binomial.PMF(0.95, trials, hits) * (1 + 1e-9);
        return Enumerable.Range(0, trials + 1).Select(k => Binomial.PMF(0.95, trials, k)).Where(q => q <= p).Sum();
    }
}
