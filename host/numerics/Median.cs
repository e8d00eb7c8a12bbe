// The median as everything here takes it: the upper of the two middle values, which is always a value that was
// measured.
namespace Hourhinge.Numerics;

public static class Median
{
    /// <summary>The middle value; 0 where there is none.</summary>
    public static double Of(IEnumerable<double> values)
    {
        double[] sorted = values.Order().ToArray();
        return sorted.Length == 0 ? 0 : sorted[sorted.Length / 2];
    }
}
