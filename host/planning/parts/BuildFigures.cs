// What a maker feels of a build: one number a property, its cost, and by how much it misses what is needed.

namespace Hourhinge.Planning.Parts;

/// <summary>A property by which builds are compared.</summary>
/// <param name="Key">Name in JSON.</param>
/// <param name="Name">Name in words.</param>
/// <param name="Decimals">Decimals shown.</param>
/// <param name="Worse">What a build is that has more of its cost, such as "coarser".</param>
/// <param name="Unit">Unit behind the number.</param>
public sealed record Criterion(string Key, string Name, int Decimals, string Worse, string Unit);

/// <summary>
/// The figures of a build by criterion. Costs are 0 for perfect, and 1 where a figure is just comfortable; they add.
/// Needs are ratios: above 1, the build lacks what it needs by that factor.
/// </summary>
public sealed class BuildFigures
{
    /// <summary>Indices of the arrays.</summary>
    public const int Step = 0, Error = 1, Travel = 2, PullIn = 3, Torque = 4, LoopRate = 5, Pack = 6, Tall = 7,
        Ruler = 8, Effort = 9, Count = 10;

    /// <summary>The criteria, in the order of the indices.</summary>
    public static IReadOnlyList<Criterion> Criteria { get; } =
    [
        new("step_px", "step", 3, "coarser steps", "px"),
        new("error_px", "error", 3, "a larger error", "px"),
        new("travel_min", "travel", 0, "less travel", "min"),
        new("speed_margin", "speed margin", 1, "less margin to the motor's top speed", "times"),
        new("torque_margin", "torque margin", 1, "less torque margin", "times"),
        new("steps_per_s", "steps a second", 1, "more steps for the controller", "steps/s"),
        new("pack_hours", "pack", 1, "a shorter night on the pack", "h"),
        new("tall_mm", "tallness", 0, "a taller or longer build", "mm"),
        new("ruler_px_per_min", "half a millimetre of arm", 2, "more harm from half a millimetre of arm", "px/min"),
        new("parts", "extra work", 0, "more to make", "parts"),
    ];

    /// <summary>The figure of each criterion.</summary>
    public double[] Values { get; } = new double[Count];

    /// <summary>Cost of each criterion, at least 0.</summary>
    public double[] Costs { get; } = new double[Count];

    /// <summary>Needed / available of each criterion; at most 1 is enough.</summary>
    public double[] Needs { get; } = new double[Count];

    /// <summary>Sum of the costs: builds are ranked by it.</summary>
    public double Cost { get; private set; }

    /// <summary>Sum of log₂ of the needs above 1: 0 for a legal build.</summary>
    public double Lack { get; private set; }

    /// <summary>The supply current, mA.</summary>
    public double SupplyMa { get; set; }

    /// <summary>Adds up.</summary>
    internal void Sum()
    {
        Cost = 0;
        Lack = 0;
        for (int i = 0; i < Count; i++)
        {
            Cost += Costs[i];
            Lack += Needs[i] > 1 ? Math.Log2(Needs[i]) : 0;
        }
    }
}
