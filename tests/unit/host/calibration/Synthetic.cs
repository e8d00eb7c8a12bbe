using Hourhinge.Calibration.Rod;
using Hourhinge.Calibration.Turns;
using Hourhinge.Rehearsal.Mechanisms;
using Hourhinge.Rig;
using Hourhinge.SharedMath.Geometry;
using Hourhinge.Tests.Host.App;

namespace Hourhinge.Tests.Host.Calibration;

/// <summary>Rigs as drawn, and readings of rigs as built. The built hinge is solved from its points, not from the
/// fitted closed form.</summary>
internal static class Synthetic
{
    public static RigDescription Rig(string example, params (string Old, string New)[] changes) =>
        RigReader.Read(example, Text(example, changes));

    public static string Text(string example, params (string Old, string New)[] changes)
    {
        string text = File.ReadAllText(Tool.Example(example));
        foreach ((string old, string now) in changes)
        {
            Assert.Contains(old, text, StringComparison.Ordinal);
            text = text.Replace(old, now, StringComparison.Ordinal);
        }

        return text;
    }

    /// <summary>Normal deviates by the polar method; seeded.</summary>
    public static double Normal(Random random, double sigma)
    {
        while (true)
        {
            double u = (2 * random.NextDouble()) - 1;
            double v = (2 * random.NextDouble()) - 1;
            double q = (u * u) + (v * v);
            if (q is > 0 and < 1)
            {
                return sigma * u * Math.Sqrt(-2 * Math.Log(q) / q);
            }
        }
    }

    /// <summary>Openings of a built linkage at rod lengths, with a zero error and noise of the angle.</summary>
    public static RodReading[] Rod(Linkage built, IEnumerable<double> rodMm, double zeroDeg, double noiseDeg,
        Random random, double claimedDeg) =>
        [.. rodMm.Select((s, i) => new RodReading(
            i + 2, s, built.AngleRad(s) + AngleUnits.FromDeg(zeroDeg + Normal(random, noiseDeg)),
            AngleUnits.FromDeg(claimedDeg)))];

    /// <summary>Rod lengths evenly spread.</summary>
    public static double[] Spread(double from, double to, int count) =>
        [.. Enumerable.Range(0, count).Select(i => from + ((to - from) * i / (count - 1)))];

    /// <summary>Presses of a stopwatch as each nut turn is done, the motor making steps at a constant rate.</summary>
    public static TurnReading[] Turns(double trueStepsPerTurn, double stepsPerSec, int turns, double noiseSec,
        Random random) =>
        [.. Enumerable.Range(1, turns).Select(n => new TurnReading(
            n + 1, ((n * trueStepsPerTurn / stepsPerSec) + Normal(random, noiseSec)) / 60, n))];
}
