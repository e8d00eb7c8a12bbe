using System.Numerics;

namespace Hourhinge.Numerics;

/// <summary>The median: the middle value, or the mean of the two middle values of an even number.</summary>
public static class Median
{
    /// <summary>Median of a sequence; 0 where it is empty.</summary>
    public static double Of(IEnumerable<double> values) => InPlace<double>(values.ToArray());

    /// <summary>The same without an allocation; sorts the values.</summary>
    public static T InPlace<T>(Span<T> values)
        where T : struct, IFloatingPoint<T>
    {
        if (values.IsEmpty)
        {
            return T.Zero;
        }

        values.Sort();
        return (values[(values.Length - 1) / 2] + values[values.Length / 2]) / (T.One + T.One);
    }
}
