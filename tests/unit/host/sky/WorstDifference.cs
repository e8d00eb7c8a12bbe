// Collects differences against a reference and prints the worst and the root mean square, for the record.
using Xunit.Abstractions;

namespace Hourhinge.Tests.Host.Sky;

internal sealed class WorstDifference(ITestOutputHelper output)
{
    private readonly Dictionary<string, (double Max, double Squares, int Count)> _figures = new();

    public void Record(string what, double difference)
    {
        (double max, double squares, int count) = _figures.GetValueOrDefault(what);
        _figures[what] = (Math.Max(max, Math.Abs(difference)), squares + (difference * difference), count + 1);
    }

    public void AssertWithin(string what, double limit, string unit)
    {
        (double max, double squares, int count) = _figures[what];
        output.WriteLine($"{what}: worst {max:G4}, rms {Math.Sqrt(squares / count):G4} {unit} of {count} "
            + $"(limit {limit} {unit})");
        Assert.True(count > 0 && max <= limit, $"{what}: worst {max:G4} {unit} exceeds {limit} {unit}.");
    }
}
