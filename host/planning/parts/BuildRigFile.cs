// A build as a rig file, ready for `rig check` and `rehearse`.

using System.Globalization;
using Hourhinge.Rig;
using Hourhinge.SharedMath.Rig;

namespace Hourhinge.Planning.Parts;

/// <summary>Writes the rig file of a build.</summary>
public static class BuildRigFile
{
    private const int MaxNameLength = 31;

    /// <summary>The commented text of the file. Lengths are those to build to; put in what you measure.</summary>
    public static string Text(PartsBox box, BuildOption build)
    {
        HingeOption h = build.Hinge;
        var values = new Dictionary<RigFileKey, string?>();
        void Set(string table, string key, string value) => values[RigKeys.Get(table, key)] = value;
        void SetNumber(string table, string key, double value) => Set(table, key, Number(value));

        string name = box.Name.Length <= MaxNameLength ? box.Name : box.Name[..MaxNameLength];
        Set("", "name", $"\"{name}\"");
        foreach (RigFileKey key in RigKeys.All.Where(k => k.Table == "hinge" && k.Kind == KeyKind.Number
            && RigTemplate.BelongsTo(k, h.Form, build.Motor.Kind)))
        {
            SetNumber("hinge", key.Key, h.Numbers.InUnits(IndexOf("hinge." + key.Key)));
        }

        if (h.Rod.Thread.Length > 0)
        {
            Set("rod", "thread", $"\"{h.Rod.Thread}\"");
        }
        else
        {
            values[RigKeys.Get("rod", "thread")] = null;
        }

        if (h.Rod.Thread.Length == 0 || h.Rod.PitchMm != SharedMath.Geometry.ThreadTable.PitchMm(h.Rod.Thread))
        {
            SetNumber("rod", "pitch_mm", h.Rod.PitchMm);
        }

        SetNumber("rod", "shortest_mm", h.ShortestMm);
        SetNumber("rod", "longest_mm", h.LongestMm);
        Set("gear", "pairs", Pairs(build.Train.Pairs));
        Set("motor", "gearbox", Pairs(build.Motor.Gearbox));
        if (build.Motor is StepperPart s)
        {
            double pullIn = Math.Min(
                Math.Floor(s.PullInFullStepsPerSec * build.Microsteps),
                RigKeys.Get("motor", "pull_in_steps_per_sec").Max);
            SetNumber("motor", "full_steps", s.FullSteps);
            SetNumber("motor", "microsteps", build.Microsteps);
            SetNumber("motor", "pull_in_steps_per_sec", Math.Max(1, pullIn));
        }
        else
        {
            Dc(box, build, (DcPart)build.Motor, SetNumber, Set);
        }

        SetNumber("pack", "volts", box.Pack.Volts);
        SetNumber("pack", "mah", box.Pack.Mah);
        SetNumber("pack", "label_volts", box.Pack.LabelVolts);
        SetNumber("pack", "current_ma", Math.Round(new BuildJudge(box).Judge(h, build.Motor,
            build.Train.Fraction.Ratio, build.Train.Pairs.Count, build.Microsteps).SupplyMa, 1));
        SetNumber("camera", "pixel_um", box.Camera.PixelUm);
        SetNumber("camera", "width_px", box.Camera.WidthPx);
        SetNumber("camera", "height_px", box.Camera.HeightPx);
        Set("camera", "lenses_mm", $"[{Number(box.Camera.LensMm)}]");
        return RigTemplate.Text(h.Form, build.Motor.Kind, values);
    }

    private static void Dc(PartsBox box, BuildOption build, DcPart m, Action<string, string, double> setNumber,
        Action<string, string, string> set)
    {
        double ratio = build.Train.Fraction.Ratio;
        double load = build.Hinge.NutTorqueNmm
            / (ratio * Math.Pow(BuildJudge.WheelEfficiency, build.Train.Pairs.Count));
        if (m.CountsPerTurn > 0)
        {
            setNumber("motor", "counts_per_turn", m.CountsPerTurn);
        }

        setNumber("motor", "speed_curve_volts", box.Pack.Volts);
        set("motor", "speed_curve", "[" + string.Join(", ", DcStatics.SpeedCurve(m, box.Pack.Volts, load, ratio)
            .Select(p => $"[{Number(p.DutyPercent)}, {Number(p.NutRpm)}]")) + "]");
        setNumber("motor", "least_volts", Math.Max(1, Math.Floor(box.Pack.Volts * PackPart.LowShare * 10) / 10));
    }

    private static int IndexOf(string key)
    {
        int i = 0;
        while (RigParameters.KeyOf(i).Key != key)
        {
            i++;
        }

        return i;
    }

    private static string Pairs(IReadOnlyList<int[]> pairs) =>
        $"[{string.Join(", ", pairs.Select(p => $"[{p[0]}, {p[1]}]"))}]";

    private static string Number(double value) => value.ToString("0.######", CultureInfo.InvariantCulture);
}
