using System.Text.Json;
using Hourhinge.App.Common;
using Hourhinge.Calibration.Stars;
using Hourhinge.Frames.Matching;
using Hourhinge.Numerics;
using Hourhinge.Rig;
using static Hourhinge.App.Common.ConsoleOutput;

namespace Hourhinge.App.Calibrate;

/// <summary>What the stars say of a rig: tables, JSON, and the lines for the rig file.</summary>
internal sealed class StarPage
{
    private readonly LoadedRig _loaded;
    private readonly StarResult _result;
    private readonly IReadOnlyList<string> _places;
    private readonly IReadOnlyList<FrameNote> _notes;
    private readonly double _firstMidSec;
    private readonly RateCorrection _correction;
    private readonly (double AmplitudeUm, double SigmaUm, double PhaseDeg)? _periodic;

    public StarPage(LoadedRig loaded, StarResult result, IReadOnlyList<string> places, IReadOnlyList<FrameNote> notes,
        double firstMidSec)
    {
        (_loaded, _result, _places, _notes, _firstMidSec) = (loaded, result, places, notes, firstMidSec);
        RateData rate = loaded.Rig.Rate;
        _correction = StarCalibration.Correct(
            result, new RateCorrection(rate.CorrectionPpm, rate.Change.SlopePpmPerHour, rate.Change.CurvePpmPerHour2,
                rate.Change.HoldMin), firstMidSec);
        if (result.Drive.Periodic is { } term && Math.Abs(term.AmplitudeArcsec.Value) > term.AmplitudeArcsec.Half95)
        {
            double lever = loaded.Rig.Hinge.RodSlopeMmPerRad(loaded.Drive.Design.StartAngleRad);
            _periodic = StarCalibration.Periodic(term, lever, firstMidSec);
        }
    }

    /// <summary>Lines for the rig file: the correction, the periodic error, what is known how well.</summary>
    public List<RigChange> Changes()
    {
        string today = CalibrateOutput.Today;
        // A percent is 10 000 ppm; the curve's coefficient is half the second derivative.
        string Ppm(double percent) =>
            RigEditor.Note(double.IsFinite(percent) ? Number(percent * 1e4, 0) + "ppm" : "unknown", "stars", today);
        DriftResult d = _result.Drive;
        var changes = new List<RigChange>
        {
            new("rate", "correction_ppm", Number(_correction.Ppm, 1), Ppm(d.RatePercent.Sigma)),
            new("rate", "slope_ppm_per_hour", Number(_correction.SlopePpmPerHour, 1),
                Ppm(d.RateChangePercentPerHour.Sigma)),
            new("rate", "curve_ppm_per_hour2", Number(_correction.CurvePpmPerHour2, 1),
                Ppm(d.RateCurvaturePercentPerHour2.Sigma / 2)),
            new("rate", "hold_min", Number(_correction.HoldMin, 2), RigEditor.Note(null, "stars", today)),
        };
        if (_periodic is { } p && _loaded.Rig.Periodic.Count == 0)
        {
            changes.Add(new RigChange("periodic[]", "period_nut_turns", "1"));
            changes.Add(new RigChange("periodic[]", "amplitude_um", Number(Math.Abs(p.AmplitudeUm), 2),
                RigEditor.Note(Number(p.SigmaUm, 2), "stars", today)));
            changes.Add(new RigChange("periodic[]", "phase_deg",
                Number(p.AmplitudeUm < 0 ? Wrapped(p.PhaseDeg + 180) : p.PhaseDeg, 2),
                RigEditor.Note(Number(d.Periodic!.PhaseRad.Sigma * 180 / Math.PI, 2), "stars", today)));
        }

        changes.AddRange(CalibrateOutput.Record(_loaded.Rig, "stars"));
        changes.Add(new RigChange("calibration", "rate_uncertainty_ppm",
            Number(Math.Max(1, _result.Drive.RatePercent.Sigma * 1e4), 0)));
        double axis =
            Math.Sqrt(Math.Pow(_result.Axis.HighArcmin.Value, 2) + Math.Pow(_result.Axis.WestArcmin.Value, 2));
        changes.Add(new RigChange("calibration", "axis_error_arcmin", Number(axis, 1)));
        return changes;
    }

    public void Print(Theme theme)
    {
        DriftResult d = _result.Drive;
        Spectre.Console.Table table = theme.Table($"{_loaded.Rig.Name}: what the stars say", "", "value", "± (95 %)");
        void Row(string name, Estimate e, int decimals) =>
            theme.Row(table, name, Number(e.Value, decimals), Number(e.Half95, decimals));
        Row("focal length, pixels", _result.Sky.FocalLengthPx, 1);
        Row("rate error, % (+ fast)", d.RatePercent, 4);
        Row("the same, axis left as it is, %", d.EffectiveRatePercent, 4);
        Row("its change, % an hour", d.RateChangePercentPerHour, 4);
        if (d.Periodic is { } term)
        {
            Row("periodic error, arcsec", term.AmplitudeArcsec, 2);
        }

        Row("axis too high, arcmin", _result.Axis.HighArcmin, 2);
        Row("axis too far west, arcmin on the sky", _result.Axis.WestArcmin, 2);
        Theme.Show(table);
        foreach (string place in _places)
        {
            theme.Line(place);
        }

        theme.Assessment(TurnIt());
        if (_result.Fields.Count == 1)
        {
            theme.Line(
                $"One field leaves one direction of the axis less certain; a field at hour angle "
                + $"{Number(_result.Axis.HourAngleOfBestSecondFieldRad * 12 / Math.PI, 1)} h would settle it "
                + "(--second).");
        }

        foreach (string name in _result.Fields.SelectMany(f => f.Outliers))
        {
            theme.Line($"{name} does not fit the others.");
        }

        foreach (string line in FrameRemarkLines.Of(_notes))
        {
            theme.Line(line);
        }

        theme.Line(
            $"New rate correction: {Number(_correction.Ppm, 0)} ppm at the start, "
            + $"{Number(_correction.SlopePpmPerHour, 0)} ppm an hour, {Number(_correction.CurvePpmPerHour2, 0)} ppm "
            + $"an hour squared, held from minute {Number(_correction.HoldMin, 1)}.");
        if (_periodic is { } p)
        {
            theme.Line(_loaded.Rig.Periodic.Count == 0
                ? $"New periodic correction: {Number(p.AmplitudeUm, 2)} µm at {Number(p.PhaseDeg, 0)}°."
                : $"The rig file has a periodic correction already; {Number(p.AmplitudeUm, 2)} µm is left and not "
                    + "written.");
        }
    }

    public void Write(Utf8JsonWriter w)
    {
        void Put(string name, Estimate e, string unit) => w.Estimate(name, e, unit, 6);

        DriftResult d = _result.Drive;
        w.WriteString("rig", _loaded.Rig.Name);
        w.WriteString("method", "stars");
        Put("focal_length", _result.Sky.FocalLengthPx, "px");
        Put("rate_error", d.RatePercent, "percent");
        Put("effective_rate_error", d.EffectiveRatePercent, "percent");
        Put("rate_change", d.RateChangePercentPerHour, "percent_per_hour");
        if (d.Periodic is { } term)
        {
            Put("periodic_amplitude", term.AmplitudeArcsec, "arcsec");
            Put("periodic_phase", term.PhaseRad, "rad");
        }

        Put("axis_high", _result.Axis.HighArcmin, "arcmin");
        Put("axis_west", _result.Axis.WestArcmin, "arcmin");
        Put("axis_east_of_field", d.AxisEastOfFieldArcmin, "arcmin");
        Put("axis_toward_field", d.AxisTowardFieldArcmin, "arcmin");
        w.Number("best_second_field_hour_angle_h", _result.Axis.HourAngleOfBestSecondFieldRad * 12 / Math.PI, 3);
        w.WriteString("advice", TurnIt());
        w.Number("correction_ppm", _correction.Ppm, 2);
        w.Number("slope_ppm_per_hour", _correction.SlopePpmPerHour, 2);
        w.Number("curve_ppm_per_hour2", _correction.CurvePpmPerHour2, 2);
        w.Number("hold_min", _correction.HoldMin, 3);
        w.Number("first_mid_exposure_s", _firstMidSec, 3);
        w.Texts("fields", _places);
        w.Texts("notes", _notes.Select(note => $"{note.Name}: {note.Reason}"));
    }

    private string TurnIt()
    {
        Estimate high = _result.Axis.HighArcmin;
        Estimate west = _result.Axis.TurnWestArcmin;
        return $"Axis: {(high.Value > 0 ? "lower" : "raise")} it {Number(Math.Abs(high.Value), 1)}' (± "
            + $"{Number(high.Half95, 1)}), turn it {Number(Math.Abs(west.Value), 1)}' "
            + $"{(west.Value > 0 ? "east" : "west")} (± {Number(west.Half95, 1)}).";
    }

    private static double Wrapped(double deg) => Math.IEEERemainder(deg, 360);
}
