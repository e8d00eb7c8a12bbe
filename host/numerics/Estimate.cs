
namespace Hourhinge.Numerics;

/// <summary>A fitted number.</summary>
/// <param name="Value">Best value, in the unit that its holder names.</param>
/// <param name="Sigma">Standard error.</param>
/// <param name="Half95">Half-width of the 95 % interval (Student's t).</param>
public readonly record struct Estimate(double Value, double Sigma, double Half95)
{
    /// <summary>True where the 95 % interval holds the given value.</summary>
    public bool Contains(double truth) => Math.Abs(truth - Value) <= Half95;

    /// <summary>The same in another unit.</summary>
    public Estimate Times(double factor) => new(Value * factor, Sigma * Math.Abs(factor), Half95 * Math.Abs(factor));
}
