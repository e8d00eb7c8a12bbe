using Hourhinge.Numerics;

namespace Hourhinge.Calibration;

/// <summary>Whether a result may be used, and if not, every reason why, each a sentence for the maker.</summary>
public sealed record CalibrationAssessment(IReadOnlyList<string> Reasons)
{
    /// <summary>Least chance at which residuals still count as noise. One good measurement in fifty is refused for
    /// it.</summary>
    public const double MinChance = 0.02;

    /// <summary>True when nothing speaks against the result.</summary>
    public bool IsTrusted => Reasons.Count == 0;

    /// <summary>
    /// The reasons that any fit can give: too few readings, no minimum, too large a scatter, an order in the
    /// residuals, too many outliers.
    /// </summary>
    /// <param name="fit">The fit.</param>
    /// <param name="least">Fewest readings used that can be trusted.</param>
    /// <param name="inOrder">Residuals of the readings used, in the order of what was varied.</param>
    /// <param name="scatter">The scatter found, as text with its unit.</param>
    /// <param name="expected">The error expected, as text with its unit and the option that tells it.</param>
    public static List<string> Common(RobustFit fit, int least, IReadOnlyList<double> inOrder, string scatter,
        string expected)
    {
        var reasons = new List<string>();
        int outliers = fit.IsOutlier.Count(o => o);
        if (fit.Used < least)
        {
            reasons.Add($"Too few readings: {fit.Used} can be used; take at least {least}.");
        }

        if (!fit.Converged)
        {
            reasons.Add("The fit found no best values: the readings do not fit this kind of rig.");
        }

        if (outliers * 4 > fit.IsOutlier.Length)
        {
            reasons.Add(
                $"{outliers} of {fit.IsOutlier.Length} readings disagree with the rest; more than one in four is no "
                + "accident.");
        }

        if (ResidualTests.LargeScatter(fit.Scatter, fit.Freedom) < 0.001)
        {
            reasons.Add($"The readings scatter by {scatter}, far more than the {expected}.");
        }

        double chance = ResidualTests.FewRuns(inOrder);
        if (chance < MinChance)
        {
            reasons.Add(
                $"The residuals are not random: they keep to one side for long stretches (chance {chance:0.0000}); "
                + "something that the fit does not know has changed on the way.");
        }

        return reasons;
    }
}
