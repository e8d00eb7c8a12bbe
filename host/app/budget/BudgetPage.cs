using System.Text.Json;
using Hourhinge.App.Common;
using Hourhinge.App.Common.Supply;
using Hourhinge.Planning;
using Hourhinge.Rig;
using static Hourhinge.App.Common.ConsoleOutput;

namespace Hourhinge.App.Budget;

/// <summary>The exposure budget on one page: as tables, as JSON, and as points for the picture.</summary>
internal sealed class BudgetPage
{
    public BudgetInput Input { get; }

    public ExposureBudget Budget { get; }

    public StackDepth Depth { get; }

    /// <summary>Surface brightness to reach, mag/arcsec².</summary>
    public double SurfaceMag { get; }

    /// <summary>Signal to noise to reach it with.</summary>
    public double SignalToNoise { get; }

    /// <summary>Longest exposure now, s.</summary>
    public double LongestSec { get; }

    /// <summary>Longest exposure if all sources act in one direction, s.</summary>
    public double LongestBoundSec { get; }

    /// <summary>Longest exposures with the sources removed that gain most, one after the other.</summary>
    public IReadOnlyList<(BlurSource Removed, double LongestSec)> Steps { get; }

    /// <summary>What to do first: the remedy that lengthens the exposure most.</summary>
    public string First => Steps.Count > 0 ? Steps[0].Removed.Remedy : "nothing to improve";

    /// <summary>Computes the longest exposures now and with the three sources removed that gain most.</summary>
    public BudgetPage(BudgetInput input, ExposureBudget budget, StackDepth depth, double allowedArcsec,
        double surfaceMag,
        double signalToNoise)
    {
        (Input, Budget, Depth, AllowedArcsec, SurfaceMag, SignalToNoise) =
            (input, budget, depth, allowedArcsec, surfaceMag, signalToNoise);
        LongestSec = budget.LongestExposureSec(allowedArcsec, []);
        LongestBoundSec = budget.LongestBoundSec(allowedArcsec);
        Steps = budget.Improvements(allowedArcsec, 3);
        double until = Math.Min(Math.Max(4 * input.ExposureSec, 2 * LongestSec), input.Drive.Design.TravelSec);
        CurveSec = [.. Enumerable.Range(1, 100).Select(i => until * i / 100)];
        CurveNow = [.. CurveSec.Select(t => budget.TrackingBlur(t, []))];
        CurveReduced = [.. CurveSec.Select(t => budget.TrackingBlur(t, [.. Steps.Select(s => s.Removed.Key)]))];
    }

    public double AllowedArcsec { get; }

    /// <summary>The pack; null when it is not known.</summary>
    public MeasuredPack? Pack { get; init; }

    /// <summary>Hours of the frames that the depth needs.</summary>
    public double DepthHours =>
        Depth.FramesFor(SurfaceMag, Input.ExposureSec, SignalToNoise) * Input.ExposureSec / 3600;

    /// <summary>The pack against the frames, in words; null when the pack is not known.</summary>
    public string? PackSentence => Pack == null ? null
        : PackOptions.Sentence(Pack) + (DepthHours > Pack.Hours
            ? $" These frames need {Math.Ceiling(DepthHours / Pack.Hours):0} charges."
            : " That is enough for these frames.");

    public double[] CurveSec { get; }

    public double[] CurveNow { get; }

    public double[] CurveReduced { get; }

    private double ArcsecPerPixel => Input.ArcsecPerPixel;

    /// <summary>Prints the page.</summary>
    public void Print(Theme theme)
    {
        Spectre.Console.Table table = theme.Table(
            $"{Input.Rig.Name}: {Input.ExposureSec:0.#} s at {Input.FocalMm:0.#} mm, declination "
            + $"{Input.DeclinationDeg:0.#}°, altitude {Budget.AltitudeDeg:0}°",
            "source of blur", "arcsec", "pixels", "from");
        table.Columns[3].Alignment = Spectre.Console.Justify.Left;
        foreach (BlurSource s in Budget.Sources)
        {
            theme.Row(table, s.Name, Number(s.Arcsec, 2), Number(s.Arcsec / ArcsecPerPixel, 2), s.Basis);
        }

        Theme.Show(table);
        theme.Line(
            $"Tracking blur, typical (added in squares): {Number(Budget.TrackingBlurArcsec, 2)}\" = "
            + $"{Number(Budget.TrackingBlurArcsec / ArcsecPerPixel, 2)} pixels. Bound (all in one direction): "
            + $"{Number(Budget.BoundArcsec, 2)}\" = {Number(Budget.BoundArcsec / ArcsecPerPixel, 2)} pixels.");
        theme.Line($"It is mostly: {Budget.Dominant.Name}.");

        Spectre.Console.Table longest =
            theme.Table(
                $"Longest exposure within {Number(AllowedArcsec, 1)}\" ({Number(AllowedArcsec / ArcsecPerPixel, 1)} "
                + "pixels)", "", "seconds", "what to do");
        longest.Columns[2].Alignment = Spectre.Console.Justify.Left;
        theme.Row(longest, "now, typical", Seconds(LongestSec), "");
        theme.Row(longest, "now, bound", Seconds(LongestBoundSec), "if all sources act in one direction");
        foreach ((BlurSource removed, double sec) in Steps)
        {
            theme.Row(longest, $"and without: {removed.Name}", Seconds(sec), removed.Remedy);
        }

        theme.Row(longest, "without tracking", Seconds(Budget.LongestUntrackedSec(AllowedArcsec)),
            $"rule of thumb 500/(f × crop): {Number(Budget.RuleOfFiveHundredSec, 1)} s");
        Theme.Show(longest);

        double limit = Depth.SkyLimitedSec();
        double frames = Depth.FramesFor(SurfaceMag, Input.ExposureSec, SignalToNoise);
        theme.Line(
            $"Sky of {Depth.SkyMagPerArcsec2:0.#} mag/arcsec²: read noise adds under 5 % from {Number(limit, 1)} s "
            + "a frame on.");
        theme.Line(
            $"Depth: {frames:0} frames of {Input.ExposureSec:0.#} s ({frames * Input.ExposureSec / 3600:0.0} h) "
            + $"reach {SurfaceMag:0.#} mag/arcsec² at S/N {SignalToNoise:0.#} a pixel.");
        if (PackSentence is { } pack)
        {
            theme.Line(pack);
        }

        theme.Assessment(Budget.TrackingBlurArcsec <= AllowedArcsec
            ? $"Good: {Input.ExposureSec:0.#} s typically stays within {Number(AllowedArcsec, 1)}\"; surely up to "
                + $"{Seconds(LongestBoundSec)} s."
            : $"Too long: at most {Seconds(LongestSec)} s now (typical). First: {First}.");
    }

    /// <summary>Writes the page's JSON fields.</summary>
    public void Write(Utf8JsonWriter w)
    {
        w.WriteString("rig", Input.Rig.Name);
        w.Number("exposure_s", Input.ExposureSec, 3);
        w.Number("focal_mm", Input.FocalMm, 2);
        w.Number("declination_deg", Input.DeclinationDeg, 4);
        w.Number("hour_angle_h", Input.HourAngleHours, 4);
        w.Number("altitude_deg", Budget.AltitudeDeg, 3);
        w.Number("arcsec_per_pixel", ArcsecPerPixel, 4);
        w.WriteStartArray("sources");
        foreach (BlurSource s in Budget.Sources)
        {
            w.WriteStartObject();
            w.WriteString("key", s.Key);
            w.WriteString("name", s.Name);
            w.Number("blur_arcsec", s.Arcsec, 4);
            w.Number("blur_px", s.Arcsec / ArcsecPerPixel, 4);
            w.Number("rate_arcsec_per_s", s.ArcsecPerSec, 7);
            w.WriteBoolean("grows_with_time", s.GrowsWithTime);
            if (s.PartOf != null)
            {
                w.WriteString("part_of", s.PartOf);
            }

            w.WriteString("basis", s.Basis);
            w.WriteEndObject();
        }

        w.WriteEndArray();
        w.Number("tracking_blur_arcsec", Budget.TrackingBlurArcsec, 4);
        w.Number("tracking_blur_bound_arcsec", Budget.BoundArcsec, 4);
        w.WriteString("dominant", Budget.Dominant.Key);
        w.WriteString("first", Steps.Count > 0 ? Steps[0].Removed.Key : "");
        w.Number("allowed_arcsec", AllowedArcsec, 4);
        w.Number("longest_s", LongestSec, 2);
        w.Number("longest_bound_s", LongestBoundSec, 2);
        w.WriteStartArray("longest_after_mending");
        foreach ((BlurSource removed, double sec) in Steps)
        {
            w.WriteStartObject();
            w.WriteString("mended", removed.Key);
            w.Number("longest_s", sec, 2);
            w.WriteEndObject();
        }

        w.WriteEndArray();
        w.Number("longest_untracked_s", Budget.LongestUntrackedSec(AllowedArcsec), 3);
        w.Number("rule_of_500_s", Budget.RuleOfFiveHundredSec, 3);
        w.Number("sky_limited_s", Depth.SkyLimitedSec(), 2);
        w.Number("frames_for_depth", Depth.FramesFor(SurfaceMag, Input.ExposureSec, SignalToNoise), 0);
        w.Number("pack_hours", Pack?.Hours ?? double.NaN, 2);
    }

    public string Seconds(double sec) => sec >= Input.Drive.Design.TravelSec - 0.01
        ? $"whole travel ({Number(sec / 60, 0)} min)"
        : Number(sec, sec < 10 ? 1 : 0);
}
