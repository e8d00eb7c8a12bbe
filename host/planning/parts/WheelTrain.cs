// Trains of one or two pairs out of a box of wheels, as exact fractions.

using Hourhinge.SharedMath.Geometry;

namespace Hourhinge.Planning.Parts;

/// <summary>A train between motor and nut: pairs of teeth, nut's side first; none: the motor turns the nut.</summary>
public sealed record WheelTrain(IReadOnlyList<int[]> Pairs)
{
    /// <summary>Turns of the motor's output shaft for a turn of the nut.</summary>
    public GearTrain Fraction { get; } = Pairs.Aggregate(new GearTrain(1, 1), (t, p) => t.WithPair(p[0], p[1])!);

    /// <summary>The pairs, such as "60:20 and 48:16"; "direct" for none.</summary>
    public string Label => Pairs.Count == 0 ? "direct" : string.Join(" and ", Pairs.Select(p => $"{p[0]}:{p[1]}"));

    /// <summary>Every train of up to two pairs, each wheel used once, fewest wheels first. Pairs of equal wheels, and
    /// the same pairs in the other order, are left out.</summary>
    public static IReadOnlyList<WheelTrain> All(IReadOnlyList<int> wheels)
    {
        var trains = new List<WheelTrain> { new([]) };
        var pairs = new List<(int Driven, int Driver)>();
        for (int i = 0; i < wheels.Count; i++)
        {
            for (int j = 0; j < wheels.Count; j++)
            {
                if (i != j && wheels[i] != wheels[j])
                {
                    pairs.Add((i, j));
                }
            }
        }

        int[] Teeth((int Driven, int Driver) p) => [wheels[p.Driven], wheels[p.Driver]];
        trains.AddRange(pairs.Select(p => new WheelTrain([Teeth(p)])));
        for (int a = 0; a < pairs.Count; a++)
        {
            for (int b = a + 1; b < pairs.Count; b++)
            {
                (int Driven, int Driver) p = pairs[a];
                (int Driven, int Driver) q = pairs[b];
                if (p.Driven != q.Driven && p.Driven != q.Driver && p.Driver != q.Driven && p.Driver != q.Driver)
                {
                    trains.Add(new WheelTrain([Teeth(p), Teeth(q)]));
                }
            }
        }

        return trains;
    }

    /// <summary>One train of each ratio, the one with the fewest wheels: ratio and wheels are all that
    /// counts.</summary>
    public static IReadOnlyList<WheelTrain> Distinct(IReadOnlyList<WheelTrain> trains) =>
        [.. trains.DistinctBy(t => (t.Fraction.Numerator, t.Fraction.Denominator))];
}
