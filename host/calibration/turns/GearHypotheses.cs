// Which slip in the rig file would explain a wrong ratio exactly? A label that is believed, a wheel miscounted,
// wheels upside down, a microstep switch. The measurement decides among them (TurnsCalibration.cs).

using System.Globalization;
using Hourhinge.Rig;

namespace Hourhinge.Calibration.Turns;

/// <summary>One slip, and how to write it right.</summary>
/// <param name="Words">The slip in words.</param>
/// <param name="Table">Table of the key to change.</param>
/// <param name="Key">Key to change.</param>
/// <param name="Value">Its right value, TOML.</param>
/// <param name="Factor">True microsteps for a nut turn / those by the file's teeth.</param>
/// <param name="Rank">0 a known label, 1 an easy slip, 2 a slip of two teeth: less is likelier.</param>
public sealed record GearHypothesis(string Words, string Table, string Key, string Value, double Factor, int Rank);

/// <summary>Lists the slips that a rig file's gear and motor allow.</summary>
public static class GearHypotheses
{
    // Trains that are sold under a rounder name (common practice, no source).
    private static readonly (int[] Label, int[][] Wheels)[] _labels =
    [
        ([64, 1], [[32, 9], [22, 11], [26, 9], [31, 10]]),
    ];

    /// <summary>Every slip considered.</summary>
    public static IReadOnlyList<GearHypothesis> For(GearData gear, MotorData motor)
    {
        var all = new List<GearHypothesis>();
        foreach ((string table, string key, IReadOnlyList<int[]> pairs) in new[] { ("motor", "gearbox", gear.Gearbox),
            ("gear", "pairs", gear.Pairs) })
        {
            for (int i = 0; i < pairs.Count; i++)
            {
                AddSlips(all, table, key, pairs, i);
            }

            AddLabels(all, table, key, pairs);
        }

        foreach (int times in new[] { 2, 4, 8 })
        {
            AddMicrosteps(all, motor, motor.Microsteps * times);
            if (motor.Microsteps % times == 0)
            {
                AddMicrosteps(all, motor, motor.Microsteps / times);
            }
        }

        return all;
    }

    private static void AddSlips(List<GearHypothesis> all, string table, string key, IReadOnlyList<int[]> pairs, int at)
    {
        int[] pair = pairs[at];
        foreach (int slip in new[] { -2, -1, 1, 2 })
        {
            for (int side = 0; side < 2; side++)
            {
                int[] right = [pair[0], pair[1]];
                right[side] += slip;
                // Below 8 teeth nobody miscounts, and a "1" is no wheel.
                if (pair[side] >= 8)
                {
                    Add($"{table}.{key}: a wheel of {right[side]} teeth, counted as {pair[side]}", right,
                        Math.Abs(slip));
                }
            }
        }

        if (pair[0] != pair[1])
        {
            Add($"{table}.{key}: the pair [{pair[0]}, {pair[1]}] written upside down", [pair[1], pair[0]], 1);
        }

        void Add(string words, int[] right, int rank)
        {
            double factor = (double)right[0] * pair[1] / ((double)right[1] * pair[0]);
            all.Add(
                new GearHypothesis(words, table, key, Toml(pairs.Select((p, i) => i == at ? right : p)), factor, rank));
        }
    }

    private static void AddLabels(List<GearHypothesis> all, string table, string key, IReadOnlyList<int[]> pairs)
    {
        foreach ((int[] label, int[][] wheels) in _labels)
        {
            double exact = wheels.Aggregate(1.0, (r, p) => r * p[0] / p[1]);
            double named = (double)label[0] / label[1];
            for (int i = 0; i < pairs.Count; i++)
            {
                if ((double)pairs[i][0] / pairs[i][1] == named)
                {
                    string words =
                        $"{table}.{key}: a gearbox sold as {label[0]}:{label[1]} whose wheels make {exact:0.000}:1";
                    all.Add(new GearHypothesis(words, table, key,
                        Toml(pairs.SelectMany((p, j) => j == i ? wheels : [p])), exact / named, 0));
                }
            }

            if (wheels.All(w => pairs.Any(p => p.SequenceEqual(w))))
            {
                string words =
                    $"{table}.{key}: a true {label[0]}:{label[1]}, not the {exact:0.000}:1 that is often sold as one";
                all.Add(new GearHypothesis(words, table, key,
                    Toml([label, .. pairs.Where(p => !wheels.Any(w => w.SequenceEqual(p)))]), named / exact, 0));
            }
        }
    }

    private static void AddMicrosteps(List<GearHypothesis> all, MotorData motor, int right)
    {
        if (right is >= 1 and <= 256)
        {
            all.Add(new GearHypothesis(
                $"motor.microsteps: the driver makes {right} microsteps of a step, not {motor.Microsteps} (or the "
                + "motor's full steps are off by the same factor)",
                "motor", "microsteps", right.ToString(CultureInfo.InvariantCulture),
                (double)right / motor.Microsteps, 1));
        }
    }

    private static string Toml(IEnumerable<int[]> pairs) =>
        "[" + string.Join(", ", pairs.Select(p => $"[{p[0]}, {p[1]}]")) + "]";
}
