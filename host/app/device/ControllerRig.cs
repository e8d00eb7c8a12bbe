// The rig parameters that a controller holds: read as the scaled integers of shared-math, and written by the commands
// of the RIG subsystem.

using System.Globalization;
using Hourhinge.App.Link;
using Hourhinge.Rig;
using Hourhinge.SharedMath.Rig;

namespace Hourhinge.App.Device;

internal static class ControllerRig
{
    private const int MaxTeeth = 10000;

    /// <summary>Reads every parameter that has a header. What has none keeps the default.</summary>
    public static RigParameters Read(ControllerLink link)
    {
        var rig = new RigParameters();
        foreach (string header in Headers())
        {
            string answer = link.Query(":" + header + "?");
            int[] indices = Indices(header);
            if (header == "RIG:PERiodic")
            {
                for (int n = 0; n < RigParameters.MaxPeriodic; n++)
                {
                    string[] term = link.Query($":{header}? {n + 1}").Split(',');
                    Set(rig, [.. indices.Skip(3 * n).Take(3)], term[1..]);
                }

                continue;
            }

            RigKey key = RigParameters.KeyOf(indices[0]);
            if (key.Words != null)
            {
                int word = key.ScpiWords.ToList().FindIndex(w => w.Equals(answer, StringComparison.OrdinalIgnoreCase));
                rig.Values[indices[0]] = word >= 0 ? word : throw Damaged(header, answer);
            }
            else
            {
                string[] parts = answer.Split(',');
                // A pitch without a divisor is answered as one number.
                Set(rig, indices, parts.Length < indices.Length ? [.. parts, "1"] : parts);
            }
        }

        return rig;
    }

    /// <summary>The commands that set parameters to their values in <paramref name="rig"/>.</summary>
    /// <param name="indices">Which parameters.</param>
    /// <param name="rig">The values.</param>
    /// <param name="description">The same rig, for the tooth counts.</param>
    public static IEnumerable<string> Commands(
        IEnumerable<int> indices, RigParameters rig, RigDescription description)
    {
        foreach (IGrouping<string, int> same in indices.GroupBy(i => RigParameters.KeyOf(i).Header))
        {
            string Value(int i) => RigParameters.Format(rig.Values[i], RigParameters.KeyOf(i).Scale);
            switch (same.Key)
            {
                case "RIG:GEAR":
                    yield return $"RIG:GEAR {Pairs(description.Gear)}";
                    break;
                case "RIG:PERiodic":
                    foreach (int term in same.Select(i => (i - RigParameters.Periodic) / 3).Distinct())
                    {
                        int first = RigParameters.Periodic + (3 * term);
                        yield return $"{same.Key} {term + 1},{Value(first)},{Value(first + 1)},{Value(first + 2)}";
                    }

                    break;
                case "RIG:PITCh":
                    yield return description.Rod.Thread.Length > 0 && IsOfThread(description.Rod)
                        ? $"RIG:THRead \"{description.Rod.Thread}\""
                        : $"{same.Key} {Value(RigParameters.Pitch)},{Value(RigParameters.PitchDivisor)}";
                    break;
                default:
                    RigKey key = RigParameters.KeyOf(same.First());
                    yield return key.ScpiWords != null
                        ? $"{same.Key} {key.ScpiWords[(int)rig.Values[same.First()]]}"
                        : $"{same.Key} {Value(same.First())}";
                    break;
            }
        }
    }

    /// <summary>The parameters that a header sets.</summary>
    public static int[] Indices(string header) => [.. Enumerable.Range(0, RigParameters.Count)
        .Where(i => RigParameters.KeyOf(i).Header == header)];

    /// <summary>Every header of the table.</summary>
    public static IEnumerable<string> Headers() => Enumerable.Range(0, RigParameters.Count)
        .Select(i => RigParameters.KeyOf(i).Header).Where(h => h != null).Distinct();

    private static bool IsOfThread(RodData rod) =>
        SharedMath.Geometry.ThreadTable.PitchMm(rod.Thread) == rod.PitchMm;

    private static string Pairs(GearData gear)
    {
        (int numerator, int denominator) = gear.CorrectionFraction();
        List<int> all = [.. gear.Pairs.Concat(gear.Gearbox).SelectMany(p => p)];
        if (numerator != denominator)
        {
            // The controller takes pairs of at most MaxTeeth: the fraction is sent as a product of such pairs.
            List<int> above = Factors(numerator);
            List<int> below = Factors(denominator);
            for (int i = 0; i < Math.Max(above.Count, below.Count); i++)
            {
                all.Add(i < above.Count ? above[i] : 1);
                all.Add(i < below.Count ? below[i] : 1);
            }
        }

        return all.Count == 0 ? "1,1" : string.Join(',', all);
    }

    private static List<int> Factors(int number)
    {
        var factors = new List<int> { 1 };
        for (int p = 2; number > 1; p++)
        {
            if ((long)p * p > number)
            {
                p = number;
            }

            while (number % p == 0)
            {
                number /= p;
                if (p > MaxTeeth)
                {
                    throw new Common.InputException(
                        "gear.correction_ppm: this correction is no product of pairs of up to 10000 teeth; write it "
                        + "into the rig file and upload that.");
                }

                int at = factors.FindIndex(f => f * p <= MaxTeeth);
                if (at < 0)
                {
                    factors.Add(p);
                }
                else
                {
                    factors[at] *= p;
                }
            }
        }

        return factors;
    }

    private static void Set(RigParameters rig, int[] indices, string[] numbers)
    {
        if (numbers.Length != indices.Length)
        {
            throw Damaged(RigParameters.KeyOf(indices[0]).Header, string.Join(',', numbers));
        }

        for (int i = 0; i < indices.Length; i++)
        {
            double scale = Math.Pow(10, RigParameters.KeyOf(indices[i]).Scale);
            rig.Values[indices[i]] = decimal.TryParse(numbers[i], NumberStyles.Float, CultureInfo.InvariantCulture,
                out decimal value) && Math.Abs(value) < 1_000_000_000_000
                ? (long)Math.Round(value * (decimal)scale)
                : throw Damaged(RigParameters.KeyOf(indices[i]).Header, numbers[i]);
        }
    }

    private static DeviceException Damaged(string header, string answer) =>
        new($"the controller answered `{ControllerLink.Shown(answer)}` to {header}?.");
}
