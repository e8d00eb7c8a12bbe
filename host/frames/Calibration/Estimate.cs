// Numbers with their uncertainty, and the verdict that goes with a set of them.
namespace Hourhinge.Frames;

/// <summary>A fitted number.</summary>
/// <param name="Value">Best value, in the unit that its holder names.</param>
/// <param name="Sigma">Standard error.</param>
/// <param name="Half95">Half-width of the 95 % interval (Student's t).</param>
public readonly record struct Estimate(double Value, double Sigma, double Half95)
{
    /// <summary>True where the 95 % interval holds the given value.</summary>
    public bool Holds(double truth) => Math.Abs(truth - Value) <= Half95;

    /// <summary>The same in another unit.</summary>
    public Estimate Times(double factor) => new(Value * factor, Sigma * Math.Abs(factor), Half95 * Math.Abs(factor));
}

/// <summary>Whether to act on a result.</summary>
/// <param name="Reasons">Why not, one sentence each; empty where it can be trusted.</param>
public sealed record Verdict(IReadOnlyList<string> Reasons)
{
    /// <summary>True where nothing speaks against it.</summary>
    public bool Trusted => Reasons.Count == 0;
}
