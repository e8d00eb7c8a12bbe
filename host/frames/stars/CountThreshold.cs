// Where the counts stop being stars. Noise with long tails (colour blotches, amplified counts of a few electrons, JPEG)
// passes five sigmas often. But it gives itself away by its counts: stars spread evenly through space grow in number
// as flux to the power of -1.5, the steepest there is (Euclidean counts, common knowledge); noise grows far more
// steeply. So the threshold rises until the counts above it are as shallow as those of stars.
namespace Hourhinge.Frames.Stars;

internal static class CountThreshold
{
    // Counts are compared between a threshold and this many times as much.
    private const double Step = 1.4;

    // Steeper than -1.5, for blends, curved tone and a detection that is not quite complete at its threshold.
    private const double Slope = 2.5;
    private const double Highest = 15;

    // Chance of small numbers.
    private const double Chance = 2;
    private const double Few = 3;

    /// <summary>The threshold in sigmas, at least the one given.</summary>
    public static double Of(IEnumerable<double> significances, double least)
    {
        double[] sorted = [.. significances.Where(s => s >= least).Order()];
        // Down from the top, so that a count cut short near the least threshold does not pass for a shallow one.
        for (int i = sorted.Length - 1; i >= 0; i--)
        {
            int above = sorted.Length - i, farAbove = sorted.Length - FirstAtLeast(sorted, Step * sorted[i]);
            if (sorted[i] < Highest
                && above > (Math.Pow(Step, Slope) * farAbove) + (Chance * Math.Sqrt(farAbove)) + Few)
            {
                return i + 1 < sorted.Length ? sorted[i + 1] : sorted[i];
            }
        }

        return least;
    }

    private static int FirstAtLeast(double[] sorted, double value)
    {
        int at = Array.BinarySearch(sorted, value);
        return at < 0 ? ~at : at;
    }
}
