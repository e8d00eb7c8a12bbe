// hourhinge calibrate turns RIG: nut turns against a stopwatch, or a DC motor's speed table.

using System.CommandLine;
using System.Globalization;
using System.Text.Json;
using Hourhinge.App.Common;
using Hourhinge.Calibration;
using Hourhinge.Calibration.Readings;
using Hourhinge.Calibration.Turns;
using Hourhinge.Rig;
using Hourhinge.SharedMath.Compile;
using static Hourhinge.App.Common.ConsoleOutput;

namespace Hourhinge.App.Calibrate;

internal static class CalibrateCommandTurns
{
    public static Command Create()
    {
        var output = new CalibrateOutput();
        Argument<FileInfo> rig = SharedOptions.RigFile();
        var data =
            new Option<FileInfo?>("--data")
            {
                Description =
                "CSV with minutes,nut_turns (or a DC motor's duty_percent,supply_v,turns_per_min, turns of the nut). "
                + "Without it you are asked.",
                HelpName = "FILE"
            };
        var stopwatch = new Option<bool>("--stopwatch")
        { Description = "Time the turns here: press Enter as the nut's mark passes, q and Enter to end." };
        Option<double> every =
            Quantity.Positive("--every", 1, 1000, "turns", "Nut turns from one press to the next");
        var save = new Option<FileInfo?>("--save")
        {
            Description = "CSV file that keeps the readings; typed ones go on in a file that exists.",
            HelpName = "FILE"
        };
        Option<double?> steps = Quantity.Optional("--steps-per-sec", 0.001, 1000000, "steps/s",
            "The motor was driven at this constant rate, microsteps. Without it: it followed the sky from the start of "
            + "its travel");
        Option<double> error = Quantity.Positive("--stopwatch-error-s", 0.2, 60, "s",
            "Standard error of a press of the stopwatch");
        Option<double> speedError = Quantity.Positive("--speed-error-percent", 1, 50, "%",
            "Standard error of a motor speed, of the fastest");
        var explain =
            new Option<string>("--explain")
            {
                Description =
                "What to correct when no tooth count explains the ratio: gear, clock, or auto (clock up to 300 ppm).",
                DefaultValueFactory = _ => "auto"
            };
        explain.AcceptOnlyFromAmong("auto", "gear", "clock");
        var command = new Command("turns",
            "Count nut turns against a stopwatch: true gear ratio or clock error; or a DC motor's speed curve.")
        {
            rig, data, stopwatch, every, save, steps, error, speedError, explain,
        };
        output.AddTo(command);
        command.Need(stopwatch, every);
        command.Exclude(data, stopwatch, every, save);
        command.SetAction(parsed =>
        {
            LoadedRig loaded = LoadedRig.From(parsed.GetRequiredValue(rig));
            try
            {
                FileInfo? file = parsed.GetValue(data);
                string? text = file == null ? null : CalibrateCommand.ReadText(file);
                if (text != null
                    && MeasurementTable.ColumnsOf(file!.ToString(), text).Contains(SpeedCurveFit.Columns[0].Name))
                {
                    return output.Writes(parsed) && loaded.Rig.Motor.Dc == null
                        ? throw new InputException(
                            $"--write: {loaded.Path} has motor.kind = \"stepper\"; a speed table needs \"dc\" or "
                            + "\"dc-encoder\".")
                        : CalibrateCommandMotor.Run(parsed, output, loaded,
                            SpeedCurveFit.Fit(SpeedCurveFit.Read(file.ToString(), text), parsed.GetValue(speedError)),
                            CalibrateCommand.Stamp(file, text));
                }

                text ??= CalibrateCommandPrompt.Turns(parsed.GetValue(stopwatch), parsed.GetValue(every),
                    parsed.GetValue(save));
                ReadingsStamp stamp = file == null
                    ? ReadingsStamp.OfText("readings", text, DateTime.UtcNow)
                    : CalibrateCommand.Stamp(file, text);
                // At a rate of one's own the steps are known, whatever the rig file says; readings of the moving
                // profile belong to that profile.
                if (parsed.GetValue(steps) == null)
                {
                    DriveState.Check(loaded.Rig, "turns", stamp);
                }

                IReadOnlyList<TurnReading> readings = TurnsCalibration.Read(file?.ToString() ?? "readings", text);
                TurnsResult result = TurnsCalibration.Fit(loaded.Rig, readings,
                    Commanded(loaded, readings, parsed.GetValue(steps)), parsed.GetValue(error));
                return Finish(parsed, output, loaded, Explained(result, parsed.GetValue(explain)!), stamp);
            }
            catch (MeasurementException e)
            {
                throw new InputException(e.Message);
            }
        });
        return command;
    }

    // Nut turns that the controller commanded, by the rig file's numbers.
    private static Func<double, double> Commanded(LoadedRig loaded, IReadOnlyList<TurnReading> readings,
        double? stepsPerSec)
    {
        DriveDesign drive = loaded.Drive.Design;
        double perTurn = drive.CountsPerNutTurn.Ratio;
        if (stepsPerSec is { } rate)
        {
            return sec => sec * rate / perTurn;
        }

        double travelMin = drive.TravelSec / 60;
        TurnReading last = readings[^1];
        return last.Minutes <= travelMin
            ? sec => drive.CountsAt(sec) / perTurn
            : throw new InputException(
                $"Line {last.Line}: minutes = {last.Minutes}: this rig follows the sky for {travelMin:0.0} minutes; "
                + $"must be 0 to {travelMin:0.0}, or give the rate that was driven as --steps-per-sec.");
    }

    private static TurnsResult Explained(TurnsResult result, string wish) =>
        result.Cause is TurnsCause.MeasuredRatio or TurnsCause.Clock && wish != "auto"
            ? result with { Cause = wish == "clock" ? TurnsCause.Clock : TurnsCause.MeasuredRatio }
            : result;

    private static int Finish(ParseResult parsed, CalibrateOutput output, LoadedRig loaded, TurnsResult r,
        ReadingsStamp stamp) =>
        output.Finish(parsed, loaded.Path, r.Assessment, Changes(loaded.Rig, r, stamp),
            w => WriteFields(w, loaded.Rig, r),
            t => Print(t, loaded.Rig, r));

    private static List<RigChange> Changes(RigDescription rig, TurnsResult r, ReadingsStamp stamp)
    {
        (double ppm, double sigmaPpm) = r.Cause == TurnsCause.Clock ? ClockPpm(rig, r) : GearPpm(rig, r);
        (string value, string sigma) = CalibrateCommand.Rounded(ppm, sigmaPpm);
        string note = RigEditor.Provenance(sigma, "turns", CalibrateOutput.Today);
        string exact = RigEditor.Provenance(null, "turns", CalibrateOutput.Today);
        var changes = new List<RigChange>();
        if (r.Cause == TurnsCause.ExactTeeth)
        {
            changes.Add(new RigChange(r.Slip!.Table, r.Slip.Key, r.Slip.Value, exact));
            if (rig.Gear.CorrectionPpm != 0)
            {
                changes.Add(new RigChange("gear", "correction_ppm", "0", exact));
            }
        }
        else if (r.Cause == TurnsCause.MeasuredRatio)
        {
            changes.Add(new RigChange("gear", "correction_ppm", value, note));
        }
        else if (r.Cause == TurnsCause.Clock)
        {
            changes.Add(new RigChange("clock", "trim_ppm", value, note));
        }

        changes.AddRange(CalibrateOutput.Record(rig, "turns", stamp));
        if (r.Cause is TurnsCause.MeasuredRatio or TurnsCause.Clock)
        {
            changes.Add(new RigChange("calibration", "rate_uncertainty_ppm", sigma)); // Counted teeth are exact.
        }

        return changes;
    }

    private static (double Ppm, double SigmaPpm) GearPpm(RigDescription rig, TurnsResult r)
    {
        double teeth = 1 + (rig.Gear.CorrectionPpm * 1e-6);
        return (((teeth * r.Ratio) - 1) * 1e6, teeth * r.RatioSigma * 1e6);
    }

    // A fast crystal gives more steps in a true second: true seconds = crystal seconds × (1 + trim).
    private static (double Ppm, double SigmaPpm) ClockPpm(RigDescription rig, TurnsResult r)
    {
        double trim = 1 + (rig.ClockTrimPpm * 1e-6);
        return (((trim * r.Ratio) - 1) * 1e6, trim * r.RatioSigma * 1e6);
    }

    private static string Meaning(RigDescription rig, TurnsResult r)
    {
        double ratio = rig.MotorTurnsPerNutTurn.Ratio;
        (string trim, string trimSigma) = CalibrateCommand.Rounded(ClockPpm(rig, r).Ppm, r.RatioSigma * 1e6);
        (string gear, string gearSigma) = CalibrateCommand.Rounded(ratio * r.Ratio, ratio * r.RatioSigma);
        return r.Cause switch
        {
            TurnsCause.FileStands => "The count agrees with the rig file's gear ratio and clock.",
            TurnsCause.ExactTeeth => $"Exactly explained by {r.Slip!.Words} (of {r.SlipsTried} slips compared).",
            TurnsCause.Clock =>
                $"Too small for teeth: taken as the controller's clock, trim {trim} ± {trimSigma} ppm. (--explain "
                + "gear takes it as the gears'.)",
            _ => $"No single slip in tooth counts explains it: measured ratio {gear} ± {gearSigma} motor turns for "
                + "a nut turn.",
        };
    }

    private static void Print(Theme theme, RigDescription rig, TurnsResult r)
    {
        Spectre.Console.Table readings =
            theme.Table($"{rig.Name}: turns against the stopwatch", "line", "minutes", "nut turns", "late, s", "");
        for (int i = 0; i < r.Readings.Count; i++)
        {
            TurnReading x = r.Readings[i];
            theme.Row(readings, x.Line.ToString(CultureInfo.InvariantCulture), Number(x.Minutes, 3),
                Number(x.NutTurns, 2), Number(r.ResidualSec[i], 2), r.IsOutlier[i] ? "left out" : "");
        }

        Theme.Show(readings);
        double ratio = rig.MotorTurnsPerNutTurn.Ratio;
        (string true1, string sigma1) = CalibrateCommand.Rounded(ratio * r.Ratio, ratio * r.RatioSigma);
        (string percent, string percentSigma) =
            CalibrateCommand.Rounded(((1 / r.Ratio) - 1) * 100, r.RatioSigma / (r.Ratio * r.Ratio) * 100);
        Spectre.Console.Table facts = theme.Facts("Result");
        theme.Row(facts, "motor turns for a nut turn", $"{true1} ± {sigma1}  (rig file: {Number(ratio, 5)})");
        theme.Row(facts, "95 % interval",
            $"{Number(ratio * (r.Ratio - (r.T95 * r.RatioSigma)), 5)} to "
            + $"{Number(ratio * (r.Ratio + (r.T95 * r.RatioSigma)), 5)}");
        theme.Row(facts, "the nut turns",
            $"{percent} ± {percentSigma} % {(r.Ratio < 1 ? "faster" : "slower")} than meant".Replace("-", "",
                StringComparison.Ordinal));
        theme.Row(facts, "scatter of a press", $"{Number(r.ScatterSec, 2)} s");
        Theme.Show(facts);
        foreach (int i in Enumerable.Range(0, r.Readings.Count).Where(i => r.IsOutlier[i]))
        {
            theme.Line(
                $"Line {r.Readings[i].Line} is left out: {Number(r.ResidualSec[i], 1)} s off where the others "
                + $"scatter by {Number(r.ScatterSec, 2)} s.");
        }

        theme.Assessment(Meaning(rig, r));
        foreach (GearHypothesis other in r.Candidates.Where(c => c != r.Slip))
        {
            theme.Line($"Also possible: {other.Words}.");
        }
    }

    private static void WriteFields(Utf8JsonWriter w, RigDescription rig, TurnsResult r)
    {
        double ratio = rig.MotorTurnsPerNutTurn.Ratio;
        w.WriteString("rig", rig.Name);
        w.WriteString("method", "turns");
        w.WriteNumber("readings", r.Readings.Count);
        w.Number("motor_turns_per_nut_turn_file", ratio, 8);
        w.Number("motor_turns_per_nut_turn", ratio * r.Ratio, 8);
        w.Number("motor_turns_per_nut_turn_sigma", ratio * r.RatioSigma, 8);
        w.Number("motor_turns_per_nut_turn_95_low", ratio * (r.Ratio - (r.T95 * r.RatioSigma)), 8);
        w.Number("motor_turns_per_nut_turn_95_high", ratio * (r.Ratio + (r.T95 * r.RatioSigma)), 8);
        w.Number("commanded_turns_per_counted_turn", r.Ratio, 8);
        w.Number("ratio_sigma_ppm", r.RatioSigma * 1e6, 2);
        w.Number("scatter_s", r.ScatterSec, 4);
        w.WriteString("cause", r.Cause switch
        {
            TurnsCause.FileStands => "file_stands",
            TurnsCause.ExactTeeth => "exact_teeth",
            TurnsCause.Clock => "clock",
            _ => "measured_ratio",
        });
        w.WriteString("meaning", Meaning(rig, r));
        w.Number("gear_correction_ppm", GearPpm(rig, r).Ppm, 2);
        w.Number("clock_trim_ppm", ClockPpm(rig, r).Ppm, 2);
        w.Texts("slips_that_fit", r.Candidates.Select(slip => slip.Words));
        w.Numbers("reading_lines", r.Readings.Select(x => (double)x.Line), 0);
        w.Numbers("reading_minutes", r.Readings.Select(x => x.Minutes), 5);
        w.Numbers("reading_nut_turns", r.Readings.Select(x => x.NutTurns), 5);
        w.Numbers("residual_s", r.ResidualSec, 4);
        w.Numbers("outlier_lines", r.Readings.Where((_, i) => r.IsOutlier[i]).Select(x => (double)x.Line), 0);
    }
}
