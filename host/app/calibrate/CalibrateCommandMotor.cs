// What `hourhinge calibrate turns` prints for a DC motor's speed table.

using System.CommandLine;
using System.Globalization;
using System.Text.Json;
using Hourhinge.App.Common;
using Hourhinge.Calibration.Readings;
using Hourhinge.Calibration.Turns;
using Hourhinge.Rig;
using static Hourhinge.App.Common.ConsoleOutput;

namespace Hourhinge.App.Calibrate;

internal static class CalibrateCommandMotor
{
    private const int MaxPairs = 32;

    public static int Run(ParseResult parsed, CalibrateOutput output, LoadedRig loaded, SpeedCurveFit curve,
        ReadingsStamp stamp) =>
        output.Finish(parsed, loaded.Path, curve.Assessment, Changes(loaded.Rig, curve, stamp),
            w => WriteFields(w, loaded, curve), t => Print(t, loaded, curve, stamp));

    // The readings are the nut's turns a minute. Every reading is kept up to the 32 pairs that a rig file holds; from
    // more, 32 spread over the duties, with the first and the last.
    private static List<RigChange> Changes(RigDescription rig, SpeedCurveFit c, ReadingsStamp stamp)
    {
        if (rig.Motor.Dc is not { } dc)
        {
            return [];
        }

        double supply = Supply(c);
        (double DutyPercent, double TurnsPerMin)[] all = [.. c.AtSupply(supply)];
        (double DutyPercent, double TurnsPerMin)[] kept = all.Length <= MaxPairs
            ? all
            : [.. Enumerable.Range(0, MaxPairs).Select(i => all[i * (all.Length - 1) / (MaxPairs - 1)])];
        string pairs = string.Join(", ",
            kept.Select(p => $"[{Number(p.DutyPercent, 2)}, {Number(p.TurnsPerMin, 4)}]"));
        string scatter = Number(Math.Max(c.ScatterTurnsPerMin, 1e-4), 4);
        string note = RigEditor.Provenance(scatter, "motor", CalibrateOutput.Today, " of a reading");
        var changes = new List<RigChange>
        {
            new("motor", "speed_curve_volts", Number(supply, 3)),
            new("motor", "speed_curve", $"[{pairs}]", note),
        };
        double breakAway = c.BreakAwayMaxV / supply * 100;
        if (breakAway is > 0 and <= 100)
        {
            changes.Add(new RigChange("motor", "break_away_percent", Number(breakAway, 2)));
        }

        if (dc.MinVolts > supply)
        {
            changes.Add(new RigChange("motor", "least_volts", Number(supply, 3)));
        }

        changes.AddRange(CalibrateOutput.Record(rig, "motor", stamp));
        return changes;
    }

    private static void Print(Theme theme, LoadedRig loaded, SpeedCurveFit c, ReadingsStamp stamp)
    {
        Spectre.Console.Table readings = theme.Table($"{loaded.Rig.Name}: the motor's speed", "line", "duty, %",
            "supply, V", "turns/min", "off the line", "");
        for (int i = 0; i < c.Readings.Count; i++)
        {
            SpeedReading x = c.Readings[i];
            theme.Row(readings, x.Line.ToString(CultureInfo.InvariantCulture), Number(x.DutyPercent, 1),
                Number(x.SupplyV, 2), Number(x.TurnsPerMin, 2), Number(c.ResidualTurnsPerMin[i], 2), c.IsOutlier[i]
                ? "left out" : x.TurnsPerMin == 0 ? "at rest" : "");
        }

        Theme.Show(readings);
        double supply = Supply(c);
        (string slope, string slopeSigma) = CalibrateCommand.Rounded(c.TurnsPerMinPerV, c.TurnsPerMinPerVSigma);
        (string dead, string deadSigma) = CalibrateCommand.Rounded(c.DeadBandV, c.DeadBandVSigma);
        Spectre.Console.Table facts = theme.Facts("The speed curve");
        theme.Row(facts, "turns a minute for a volt", $"{slope} ± {slopeSigma}");
        theme.Row(facts, "dead band (line at speed 0)",
            $"{dead} ± {deadSigma} V = {Number(c.DeadBandV / supply * 100, 1)} % at {Number(supply, 2)} V");
        theme.Row(facts, "starts from rest between",
            $"{Number(c.BreakAwayMinV, 2)} and {Number(c.BreakAwayMaxV, 2)} V = "
            + $"{Number(c.BreakAwayMinV / supply * 100, 1)} and {Number(c.BreakAwayMaxV / supply * 100, 1)} %");
        theme.Row(facts, "keeps turning down to",
            $"{Number(c.MinRunningV, 2)} V = {Number(c.MinRunningV / supply * 100, 1)} % (slowest seen)");
        Theme.Show(facts);
        PrintLines(theme, loaded.Rig, c, stamp);
        DcData? measured = loaded.Rig.Motor.Dc == null
            ? null
            : loaded.Rig.Motor.Dc with { Curve = [.. c.AtSupply(supply)] };
        if (RigDrive.TooSlow(measured, loaded.Drive.Design) is { } slow)
        {
            theme.Line(slow);
        }

        foreach (int i in Enumerable.Range(0, c.Readings.Count).Where(i => c.IsOutlier[i]))
        {
            theme.Line(
                $"Line {c.Readings[i].Line} is left out: {Number(c.ResidualTurnsPerMin[i], 1)} turns a minute off "
                + "the line.");
        }
    }

    private static void PrintLines(Theme theme, RigDescription rig, SpeedCurveFit c, ReadingsStamp stamp)
    {
        if (rig.Motor.Dc == null)
        {
            theme.Line("This rig's motor is a stepper, so its file has no place for the curve.");
            return;
        }

        theme.Line("Lines for the table [motor] of the rig file (--write puts them there):");
        foreach (RigChange change in Changes(rig, c, stamp).Where(x => x.Table == "motor"))
        {
            Console.WriteLine($"{change.Key} = {change.Value}"); // Never wrapped, so that it can be pasted.
        }
    }

    private static void WriteFields(Utf8JsonWriter w, LoadedRig loaded, SpeedCurveFit c)
    {
        double supply = Supply(c);
        w.WriteString("rig", loaded.Rig.Name);
        w.WriteString("method", "motor speed table");
        w.Number("turns_per_min_per_v", c.TurnsPerMinPerV, 5);
        w.Number("turns_per_min_per_v_sigma", c.TurnsPerMinPerVSigma, 5);
        w.Number("dead_band_v", c.DeadBandV, 4);
        w.Number("dead_band_sigma_v", c.DeadBandVSigma, 4);
        w.Number("break_away_least_v", c.BreakAwayMinV, 4);
        w.Number("break_away_most_v", c.BreakAwayMaxV, 4);
        w.Number("least_running_v", c.MinRunningV, 4);
        w.Number("curve_supply_v", supply, 3);
        w.Numbers("curve_duty_percent", c.AtSupply(supply).Select(p => p.DutyPercent), 3);
        w.Numbers("curve_turns_per_min", c.AtSupply(supply).Select(p => p.TurnsPerMin), 4);
        w.Numbers("reading_lines", c.Readings.Select(x => (double)x.Line), 0);
        w.Numbers("reading_motor_v", c.Readings.Select(x => x.DutyPercent / 100 * x.SupplyV), 4);
        w.Numbers("reading_turns_per_min", c.Readings.Select(x => x.TurnsPerMin), 4);
        w.Numbers("residual_turns_per_min", c.ResidualTurnsPerMin, 4);
        w.Numbers("outlier_lines", c.Readings.Where((_, i) => c.IsOutlier[i]).Select(x => (double)x.Line), 0);
    }

    // The median supply voltage of the readings.
    private static double Supply(SpeedCurveFit c)
    {
        double[] sorted = [.. c.Readings.Select(r => r.SupplyV).Order()];
        return sorted[sorted.Length / 2];
    }
}
