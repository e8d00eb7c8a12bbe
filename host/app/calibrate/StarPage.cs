using System.Text.Json;
using Hourhinge.App.Common;
using Hourhinge.Calibration.Orientation;
using Hourhinge.Calibration.Readings;
using Hourhinge.Calibration.Stars;
using Hourhinge.Frames.Matching;
using Hourhinge.Numerics;
using Hourhinge.Rig;
using static Hourhinge.App.Common.ConsoleOutput;

namespace Hourhinge.App.Calibrate;

/// <summary>The result of a star calibration as tables, JSON, and lines for the rig file.</summary>
internal sealed class StarPage(
    RigDescription rig, StarResult result, StarCorrections corrections, IReadOnlyList<string> places,
    IReadOnlyList<FrameNote> notes, IReadOnlyList<string> remarks, string pointing,
    RecognisedFrame? recognised, ReadingsStamp readings)
{
    private readonly LensEntry _lens = LensEntry.Of(rig, recognised, result.Sky.FocalLengthPx);

    private IEnumerable<string> Remarks => remarks.Concat(_lens.Remarks);

    /// <summary>Lines for the rig file: the correction, the periodic error, what is known how well.</summary>
    public List<RigChange> Changes()
    {
        string today = CalibrateOutput.Today;
        // A percent is 10 000 ppm; the curve's coefficient is half the second derivative.
        string Ppm(double percent) =>
            RigEditor.Provenance(double.IsFinite(percent) ? Number(percent * 1e4, 0) + "ppm" : "unknown", "stars",
                today);
        DriftResult d = result.Drive;
        var changes = new List<RigChange>
        {
            new("rate", "correction_ppm", Number(corrections.Rate.Ppm, 1), Ppm(d.RatePercent.Sigma)),
            new("rate", "slope_ppm_per_hour", Number(corrections.Rate.SlopePpmPerHour, 1),
                Ppm(d.RateChangePercentPerHour.Sigma)),
            new("rate", "curve_ppm_per_hour2", Number(corrections.Rate.CurvePpmPerHour2, 1),
                Ppm(d.RateCurvaturePercentPerHour2.Sigma / 2)),
            new("rate", "hold_min", Number(corrections.Rate.HoldMin, 2), RigEditor.Provenance(null, "stars", today)),
        };
        if (corrections.Periodic is { } p && rig.Periodic.Count == 0)
        {
            changes.Add(new RigChange("periodic[]", "period_nut_turns", "1"));
            changes.Add(new RigChange("periodic[]", "amplitude_um", Number(p.AmplitudeUm, 2),
                RigEditor.Provenance(Number(p.SigmaUm, 2), "stars", today)));
            changes.Add(new RigChange("periodic[]", "phase_deg",
                Number(p.PhaseDeg, 2),
                RigEditor.Provenance(Number(d.Periodic!.PhaseRad.Sigma * 180 / Math.PI, 2), "stars", today)));
        }

        changes.AddRange(_lens.Changes);
        changes.AddRange(CalibrateOutput.Record(rig, "stars", readings));
        changes.Add(new RigChange("calibration", "rate_uncertainty_ppm",
            Number(Math.Max(1, result.Drive.RatePercent.Sigma * 1e4), 0)));
        double axis =
            Math.Sqrt(Math.Pow(result.Axis.HighArcmin.Value, 2) + Math.Pow(result.Axis.WestArcmin.Value, 2));
        changes.Add(new RigChange("calibration", "axis_error_arcmin", Number(axis, 1)));
        return changes;
    }

    public void Print(Theme theme)
    {
        DriftResult d = result.Drive;
        Spectre.Console.Table table = theme.Table($"{rig.Name}: what the stars say", "", "value", "± (95 %)");
        void Row(string name, Estimate e, int decimals) =>
            theme.Row(table, name, Number(e.Value, decimals), Number(e.Half95, decimals));
        Row("focal length, pixels", result.Sky.FocalLengthPx, 1);
        if (recognised is not null)
        {
            Row("distortion k1", K1(recognised), 4);
            Row("distortion k2", K2(recognised), 4);
        }

        Row("rate error, % (+ fast)", d.RatePercent, 4);
        Row("the same, axis left as it is, %", d.EffectiveRatePercent, 4);
        Row("its change, % an hour", d.RateChangePercentPerHour, 4);
        if (d.Periodic is { } term)
        {
            Row("periodic error, arcsec", term.AmplitudeArcsec, 2);
        }

        Row("axis too high, arcmin (pole as seen)", result.Axis.HighArcmin, 2);
        Row("axis too far west, arcmin on the sky", result.Axis.WestArcmin, 2);
        Theme.Show(table);
        foreach (string place in places)
        {
            theme.Line(place);
        }

        theme.Assessment(TurnIt());
        if (result.Fields.Count == 1)
        {
            theme.Line(
                $"One field leaves one direction of the axis less certain; a field at hour angle "
                + $"{Number(result.Axis.HourAngleOfBestSecondFieldRad * 12 / Math.PI, 1)} h would settle it "
                + "(--second).");
        }

        theme.Line(PoleSentence);
        foreach (string line in NotToldApart())
        {
            theme.Line(line);
        }

        foreach (string name in result.Fields.SelectMany(f => f.Outliers))
        {
            theme.Line($"{name} does not fit the others.");
        }

        foreach (string line in Remarks.Concat(FrameRemarkLines.Of(notes)))
        {
            theme.Line(line);
        }

        theme.Line(
            $"New rate correction: {Number(corrections.Rate.Ppm, 0)} ppm at the start, "
            + $"{Number(corrections.Rate.SlopePpmPerHour, 0)} ppm an hour, "
            + $"{Number(corrections.Rate.CurvePpmPerHour2, 0)} ppm "
            + $"an hour squared, held from minute {Number(corrections.Rate.HoldMin, 1)}.");
        if (corrections.Periodic is { } p)
        {
            theme.Line(rig.Periodic.Count == 0
                ? $"New periodic correction: {Number(p.AmplitudeUm, 2)} µm at {Number(p.PhaseDeg, 0)}°."
                : $"The rig file has a periodic correction already; {Number(p.AmplitudeUm, 2)} µm is left and not "
                    + "written.");
        }
    }

    public void Write(Utf8JsonWriter w)
    {
        void Put(string name, Estimate e, string unit) => w.Estimate(name, e, unit, 6);

        DriftResult d = result.Drive;
        w.WriteString("rig", rig.Name);
        w.WriteString("method", "stars");
        Put("focal_length", result.Sky.FocalLengthPx, "px");
        if (recognised is not null)
        {
            w.Number("k1", K1(recognised).Value, 5);
            w.Number("k1_half_95", K1(recognised).Half95, 5);
            w.Number("k2", K2(recognised).Value, 5);
            w.Number("k2_half_95", K2(recognised).Half95, 5);
        }

        w.WriteBoolean("recognised", recognised is not null);
        Put("rate_error", d.RatePercent, "percent");
        Put("effective_rate_error", d.EffectiveRatePercent, "percent");
        Put("rate_change", d.RateChangePercentPerHour, "percent_per_hour");
        if (d.Periodic is { } term)
        {
            Put("periodic_amplitude", term.AmplitudeArcsec, "arcsec");
            Put("periodic_phase", term.PhaseRad, "rad");
        }

        Put("axis_high", result.Axis.HighArcmin, "arcmin");
        Put("axis_west", result.Axis.WestArcmin, "arcmin");
        Put("axis_east_of_field", d.AxisEastOfFieldArcmin, "arcmin");
        Put("axis_toward_field", d.AxisTowardFieldArcmin, "arcmin");
        w.Number("best_second_field_hour_angle_h", result.Axis.HourAngleOfBestSecondFieldRad * 12 / Math.PI, 3);
        w.WriteString("axis_from", "refracted pole");
        w.WriteString("advice", TurnIt());
        w.Texts("not_told_apart", NotToldApart());
        w.Number("correction_ppm", corrections.Rate.Ppm, 2);
        w.Number("slope_ppm_per_hour", corrections.Rate.SlopePpmPerHour, 2);
        w.Number("curve_ppm_per_hour2", corrections.Rate.CurvePpmPerHour2, 2);
        w.Number("hold_min", corrections.Rate.HoldMin, 3);
        w.Number("first_mid_exposure_s", corrections.FirstMidSec, 3);
        WriteFrames(w);
        w.Texts("fields", places);
        w.Texts("remarks", Remarks);
        w.Texts("notes", notes.Select(note => $"{note.Name}: {note.Reason}"));
    }

    // Every frame of every field: where it stood, and what the fit leaves of it.
    private void WriteFrames(Utf8JsonWriter w)
    {
        (DriftResidual Frame, int Field, bool IsOut, double Scale)[] all = [.. result.Fields.SelectMany((f, i) =>
            f.Frames.Select(r => (r, i + 1, f.Outliers.Contains(r.Name), result.Skies[i].Sky.ArcsecPerPx)))];
        w.Texts("frame_names", all.Select(f => f.Frame.Name));
        w.Numbers("frame_field", all.Select(f => (double)f.Field), 0);
        w.Numbers("frame_minutes", all.Select(f => f.Frame.TimeSeconds / 60), 4);
        w.Numbers("frame_east_arcsec", all.Select(f => f.Frame.EastArcsec), 3);
        w.Numbers("frame_north_arcsec", all.Select(f => f.Frame.NorthArcsec), 3);
        w.Numbers("residual_east_arcsec", all.Select(f => f.Frame.EastResidualArcsec), 4);
        w.Numbers("residual_north_arcsec", all.Select(f => f.Frame.NorthResidualArcsec), 4);
        w.Numbers("residual_east_px", all.Select(f => f.Frame.EastResidualArcsec / f.Scale), 4);
        w.Numbers("residual_north_px", all.Select(f => f.Frame.NorthResidualArcsec / f.Scale), 4);
        w.Numbers("frame_left_out", all.Select(f => f.IsOut ? 1.0 : 0), 0);
    }

    private static Estimate K1(RecognisedFrame f) =>
        new(f.Field.Projection.Lens.K1, f.Field.K1Sigma, 1.96 * f.Field.K1Sigma);

    private static Estimate K2(RecognisedFrame f) =>
        new(f.Field.Projection.Lens.K2, f.Field.K2Sigma, 1.96 * f.Field.K2Sigma);

    private const string PoleSentence =
        "The axis is counted from the pole as seen through the air, as profile and budget do.";

    // 1' of axis error moves the stars like a bend of 1' x 15.04 arcsec/s = 15.75 arcsec an hour.
    private IEnumerable<string> NotToldApart()
    {
        yield return "The stars cannot tell a camera that bends or slips on its holder from an axis error: 16\" an "
            + "hour "
            + "look like 1' of axis"
            + (result.Fields.Count == 1 ? "; a second field (--second) would contradict." : ".");
        if (recognised is not null)
        {
            yield break;
        }

        yield return $"The result holds if the field is where the lines above say, within {pointing}; one that is "
            + "farther "
            + "off bends it unseen.";
    }

    private string TurnIt()
    {
        Estimate high = result.Axis.HighArcmin;
        Estimate west = result.Axis.TurnWestArcmin;
        return $"Axis: {(high.Value > 0 ? "lower" : "raise")} it {Number(Math.Abs(high.Value), 1)}' (± "
            + $"{Number(high.Half95, 1)}), turn it {Number(Math.Abs(west.Value), 1)}' "
            + $"{(west.Value > 0 ? "east" : "west")} (± {Number(west.Half95, 1)}).";
    }
}
