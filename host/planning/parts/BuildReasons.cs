// Sentences about builds: why one is not first, and what a box lacks.

namespace Hourhinge.Planning.Parts;

/// <summary>Explains a search.</summary>
public static class BuildReasons
{
    /// <summary>Why a build is not first: the criterion that costs it most against the first.</summary>
    public static string NotFirst(BuildFigures first, BuildFigures other)
    {
        int worst = 0;
        for (int i = 1; i < BuildFigures.Count; i++)
        {
            if (other.Costs[i] - first.Costs[i] > other.Costs[worst] - first.Costs[worst])
            {
                worst = i;
            }
        }

        Criterion c = BuildFigures.Criteria[worst];
        return $"{c.Worse}: {Figure(c, other.Values[worst])} against {Figure(c, first.Values[worst])} {c.Unit}";
    }

    /// <summary>What no combination of a box reaches, and by how much.</summary>
    public static string Lacking(PartsBox box, SearchResult result)
    {
        if (result.Nearest is not { } build || result.NearestFigures is not { } f)
        {
            return result.Rejected.Length > 0
                ? $"No combination compiles: {result.Rejected}"
                : $"No hinge fits these boards and rods: the boards are {box.BoardMm:0.#} mm long and the longest rod "
                    + $"{box.Rods.Max(r => r.LengthMm):0.#} mm; an arm of 80 mm with its edge needs a board of 100 mm, "
                    + "and a rod needs 61 mm.";
        }

        int worst = Array.IndexOf(f.Needs, f.Needs.Max());
        double value = f.Values[worst];
        string lacks = worst switch
        {
            BuildFigures.Error => $"an error of {box.Wanted.ErrorPx:0.###} px: it has {value:0.###} px",
            BuildFigures.Travel => $"{box.Wanted.TravelMin:0.#} minutes of travel: it has {value:0.#}, because of the "
                + $"rod of {build.Hinge.Rod.LengthMm:0.#} mm or the boards",
            BuildFigures.PullIn => value > BuildJudge.MinSpeedMargin
                ? $"gear reduction: the motor would run at 1/{value:0} of its speed, and below a tenth it runs unevenly"
                : $"{BuildJudge.MinSpeedMargin} times the speed that the sky needs: the motor reaches {value:0.###} "
                    + "times",
            BuildFigures.Torque => $"{BuildJudge.MinTorqueMargin} times the torque that the nut needs "
                + $"({build.Hinge.NutTorqueNmm:0.#} N mm): the motor gives {value:0.###} times",
            BuildFigures.LoopRate => $"at most {BuildJudge.MaxStepsPerSec:0} steps a second for the controller's loop: "
                + $"it needs {value:0}",
            _ => $"{box.Wanted.PackHours:0.#} h on the pack: it lasts {value:0.#} h at {f.SupplyMa:0} mA",
        };
        return $"No combination of these parts meets everything. The nearest ({build.Hinge.Form}, arm "
            + $"{build.Hinge.ArmMm:0.#} mm, {build.Hinge.Rod.Label}, wheels {build.Train.Label}) lacks {lacks}, a "
            + "factor "
            + $"of {f.Needs[worst]:0.##}"
            + (f.Needs.Count(n => n > 1) > 1 ? ", and more besides." : ".");
    }

    /// <summary>A figure with the decimals of its criterion.</summary>
    public static string Figure(Criterion c, double value)
    {
        string text = value.ToString("F" + c.Decimals, System.Globalization.CultureInfo.InvariantCulture);
        return text.Length <= 9 ? text : value.ToString("0.##E0", System.Globalization.CultureInfo.InvariantCulture);
    }
}
