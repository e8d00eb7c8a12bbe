// hourhinge calibrate rod RIG: opening measured against rod length, to the hinge's true arms, bend and offsets.

using System.CommandLine;
using System.Globalization;
using System.Text.Json;
using Hourhinge.App.Common;
using Hourhinge.Calibration.Readings;
using Hourhinge.Calibration.Rod;
using Hourhinge.Rig;
using Hourhinge.SharedMath.Geometry;
using static Hourhinge.App.Common.ConsoleOutput;

namespace Hourhinge.App.Calibrate;

internal static class CalibrateCommandRod
{
    public static Command Create()
    {
        var output = new CalibrateOutput();
        Argument<FileInfo> rig = SharedOptions.RigFile();
        var data =
            new Option<FileInfo>("--data")
            {
                Description =
                "CSV with rod_mm,angle_deg (inclinometer) or rod_mm,gap_mm,at_mm (caliper: gap of the boards, both "
                + "points at_mm from the hinge axis).",
                HelpName = "FILE",
                Required = true
            };
        Option<double> angle = Quantity.Positive("--angle-error-deg", 0.1, 10, "degrees",
            "Standard error of an inclinometer reading");
        Option<double> gap =
            Quantity.Positive("--gap-error-mm", 0.2, 20, "mm", "Standard error of a caliper gap");
        Option<double> rod =
            Quantity.Positive("--rod-error-mm", 0.1, 20, "mm", "Standard error of a rod length");
        var command =
            new Command("rod", "Measure the opening at several rod lengths: true arms, bend radius and offsets.") { rig,
                data, angle, gap, rod };
        output.AddTo(command);
        command.SetAction(parsed =>
        {
            LoadedRig loaded = LoadedRig.From(parsed.GetRequiredValue(rig));
            FileInfo file = parsed.GetRequiredValue(data);
            try
            {
                string text = CalibrateCommand.ReadText(file);
                IReadOnlyList<RodReading> readings =
                    RodReading.Read(file.ToString(), text, parsed.GetValue(angle), parsed.GetValue(gap));
                RodResult r = RodCalibration.Fit(loaded.Rig, readings, parsed.GetValue(rod));
                return output.Finish(parsed, loaded.Path, r.Assessment,
                    Changes(loaded.Rig, r, CalibrateCommand.Stamp(file, text)), w => WriteFields(w, loaded.Rig, r),
                    t => Print(t, loaded.Rig, r));
            }
            catch (MeasurementException e)
            {
                throw new InputException(e.Message);
            }
        });
        return command;
    }

    private static List<RigChange> Changes(RigDescription rig, RodResult r, ReadingsStamp stamp)
    {
        var changes = new List<RigChange>();
        void Set(string key, double value, double sigma, string of = "")
        {
            (string text, string sigmaText) = CalibrateCommand.Rounded(value, sigma);
            changes.Add(
                new RigChange("hinge", key, text, RigEditor.Provenance(sigmaText, "rod", CalibrateOutput.Today, of)));
        }

        RodEstimate[] e = [.. r.Estimates];
        if (r.Hinge is SwivelledRodHinge s)
        {
            // With the difference of the arms held, each arm is known no better than the difference; the mean is what
            // counts.
            Set("nut_arm_mm", s.NutArmMm, e[0].Sigma, e[1].IsHeld ? ", mean of the arms" : "");
            Set("anchor_arm_mm", s.AnchorArmMm, e[0].Sigma, e[1].IsHeld ? ", mean of the arms" : "");
            if (s.BendRadiusMm != 0 && !e[2].IsHeld)
            {
                Set("bend_radius_mm", s.BendRadiusMm, e[2].Sigma);
            }
        }
        else
        {
            Set("radius_mm", e[0].Value, e[0].Sigma);
            if (!e[1].IsHeld)
            {
                Set("surface_offset_mm", e[1].Value, e[1].Sigma);
            }
        }

        changes.AddRange(CalibrateOutput.Record(rig, "rod", stamp));
        changes.Add(
            new RigChange("calibration", "rate_uncertainty_ppm", CalibrateCommand.Rounded(0, r.RateSigmaPpm).Sigma));
        changes.Add(new RigChange("calibration", "arm_uncertainty_mm", CalibrateCommand.Rounded(0, e[0].Sigma).Sigma));
        return changes;
    }

    private static void Print(Theme theme, RigDescription rig, RodResult r)
    {
        Spectre.Console.Table readings = theme.Table($"{rig.Name}: opening against rod length", "line", "rod, mm",
            "opening, °", "found - fitted, °", "");
        for (int i = 0; i < r.Readings.Count; i++)
        {
            RodReading x = r.Readings[i];
            theme.Row(readings, x.Line.ToString(CultureInfo.InvariantCulture), Number(x.RodMm, 2),
                Number(AngleUnits.ToDeg(x.AngleRad), 3), Number(AngleUnits.ToDeg(r.ResidualRad[i]), 3), r.IsOutlier[i]
                ? "left out" : "");
        }

        Theme.Show(readings);
        Spectre.Console.Table values =
            theme.Table("Result", "", "rig file", "measured", "± (1 sigma)", "95 %", "");
        foreach (RodEstimate e in r.Estimates)
        {
            bool isAngle = e.Parameter.Unit == "rad";
            double unit = isAngle ? 1 / AngleUnits.RadPerDeg : 1;
            (string value, string sigma) = CalibrateCommand.Rounded(e.Value * unit, e.Sigma * unit);
            string half = CalibrateCommand.Rounded(0, r.T95 * e.Sigma * unit).Sigma;
            theme.Row(values, $"{e.Parameter.Name}, {(isAngle ? "°" : e.Parameter.Unit)}",
                Number(e.Parameter.FileValue * unit, 2), e.IsHeld ? "–" : value, e.IsHeld ? "–" : sigma, e.IsHeld
                ? "–"
                : "± " + half, e.IsHeld ? "held" : "");
        }

        if (r.Hinge is SwivelledRodHinge s)
        {
            theme.Row(values, "nut arm from these, mm", Number(((SwivelledRodHinge)rig.Hinge).NutArmMm, 2),
                Number(s.NutArmMm, 2), Number(ArmSigma(r), 2), "", "");
            theme.Row(values, "anchor arm from these, mm", Number(((SwivelledRodHinge)rig.Hinge).AnchorArmMm, 2),
                Number(s.AnchorArmMm, 2), Number(ArmSigma(r), 2), "", "");
        }

        Theme.Show(values);
        foreach (int i in Enumerable.Range(0, r.Readings.Count).Where(i => r.IsOutlier[i]))
        {
            theme.Line(
                $"Line {r.Readings[i].Line} is left out: {Number(AngleUnits.ToDeg(r.ResidualRad[i]), 2)}° off the "
                + "others.");
        }

        foreach (string sentence in r.Undetermined)
        {
            theme.Line(sentence);
        }

        if (r.Estimates[0].IsHeld)
        {
            return;
        }

        theme.Line(
            $"With the rig file's numbers the drive is {Percent(r.FileRatePpm)} % "
            + $"{(r.FileRatePpm > 0 ? "fast" : "slow")} over its first half hour;");
        theme.Line(
            $"with the measured ones it is known to {Number(r.RateSigmaPpm, 0)} ppm (1 sigma), "
            + $"{Number(r.RateSigmaPpm * 27.074e-3, 1)} arcsec in half an hour.");
    }

    private static string Percent(double ppm) => Number(Math.Abs(ppm) / 10000, 3);

    // a = mean + difference/2.
    private static double ArmSigma(RodResult r) =>
        Math.Sqrt(r.Covariance[0, 0] + r.Covariance[0, 1] + (r.Covariance[1, 1] / 4));

    private static void WriteFields(Utf8JsonWriter w, RigDescription rig, RodResult r)
    {
        w.WriteString("rig", rig.Name);
        w.WriteString("method", "rod");
        w.WriteNumber("readings", r.Readings.Count);
        w.WriteStartArray("parameters");
        foreach (RodEstimate e in r.Estimates)
        {
            bool isAngle = e.Parameter.Unit == "rad";
            double unit = isAngle ? 1 / AngleUnits.RadPerDeg : 1;
            string suffix = isAngle ? "deg" : "mm";
            w.WriteStartObject();
            w.WriteString("name", e.Parameter.Name);
            w.Number("rig_file_" + suffix, e.Parameter.FileValue * unit, 5);
            w.Number("value_" + suffix, e.Value * unit, 5);
            w.Number("sigma_" + suffix, e.Sigma * unit, 5);
            w.Number("half_95_" + suffix, e.Sigma * unit * r.T95, 5);
            w.WriteBoolean("held", e.IsHeld);
            w.WriteEndObject();
        }

        w.WriteEndArray();
        switch (r.Hinge)
        {
            case SwivelledRodHinge s:
                w.Number("nut_arm_mm", s.NutArmMm, 4);
                w.Number("anchor_arm_mm", s.AnchorArmMm, 4);
                w.Number("each_arm_sigma_mm", ArmSigma(r), 4);
                w.Number("bend_radius_mm", s.BendRadiusMm == 0 ? double.NaN : s.BendRadiusMm, 4);
                break;
            case FixedRodHinge f:
                w.Number("radius_mm", f.RadiusMm, 4);
                w.Number("surface_offset_mm", f.SurfaceOffsetMm, 4);
                break;
        }

        w.Texts("not_told_by_the_readings", r.Undetermined);
        w.Numbers("gain_over_ruler_singular_values", r.SingularValues, 3);
        w.Number("rig_file_rate_error_ppm", r.FileRatePpm, 1);
        w.Number("rate_sigma_ppm", r.RateSigmaPpm, 1);
        w.Numbers("reading_lines", r.Readings.Select(x => (double)x.Line), 0);
        w.Numbers("reading_rod_mm", r.Readings.Select(x => x.RodMm), 4);
        w.Numbers("reading_angle_deg", r.Readings.Select(x => AngleUnits.ToDeg(x.AngleRad)), 5);
        w.Numbers("residual_deg", r.ResidualRad.Select(AngleUnits.ToDeg), 5);
        w.Numbers("outlier_lines", r.Readings.Where((_, i) => r.IsOutlier[i]).Select(x => (double)x.Line), 0);
    }
}
