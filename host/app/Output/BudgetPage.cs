using System.Text.Json;
using Hourhinge.Planning;
using static Hourhinge.App.Output.Say;

namespace Hourhinge.App.Output;

/// <summary>The exposure budget on one page: as tables, as JSON, and as points for the picture.</summary>
internal sealed class BudgetPage
{
    private readonly BudgetInput _in;
    private readonly ExposureBudget _budget;
    private readonly Depth _depth;
    private readonly double _surface;
    private readonly double _wanted;
    private readonly double _longest;
    private readonly (BlurSource Mended, double LongestSec)[] _steps;

    /// <summary>Works out the longest exposures now and after mending the top three, one after the other.</summary>
    public BudgetPage(BudgetInput input, ExposureBudget budget, Depth depth, double allowedArcsec, double surfaceMag, double signalToNoise)
    {
        (_in, _budget, _depth, AllowedArcsec, _surface, _wanted) = (input, budget, depth, allowedArcsec, surfaceMag, signalToNoise);
        _longest = budget.LongestExposureSec(allowedArcsec, []);
        BlurSource[] top = [.. budget.Sources.Where(s => s.GrowsWithTime).Take(3)];
        _steps = [.. top.Select((s, i) => (s, budget.LongestExposureSec(allowedArcsec, [.. top.Take(i + 1).Select(t => t.Key)])))];
        double until = Math.Min(Math.Max(4 * input.ExposureSec, 2 * _longest), input.Drive.Design.TravelSec);
        CurveSec = [.. Enumerable.Range(1, 100).Select(i => until * i / 100)];
        CurveNow = [.. CurveSec.Select(t => budget.TrackingBlur(t, []))];
        CurveMended = [.. CurveSec.Select(t => budget.TrackingBlur(t, [.. top.Select(s => s.Key)]))];
    }

    public double AllowedArcsec { get; }

    public double[] CurveSec { get; }

    public double[] CurveNow { get; }

    public double[] CurveMended { get; }

    private double ArcsecPerPixel => _in.ArcsecPerPixel;

    /// <summary>Prints the page.</summary>
    public void Print(Theme theme)
    {
        Spectre.Console.Table table = theme.Table(
            $"{_in.Rig.Name}: {_in.ExposureSec:0.#} s at {_in.FocalMm:0.#} mm, declination {_in.DeclinationDeg:0.#}°, altitude {_budget.AltitudeDeg:0}°",
            "source of blur", "arcsec", "pixels", "from");
        table.Columns[3].Alignment = Spectre.Console.Justify.Left;
        foreach (BlurSource s in _budget.Sources)
        {
            theme.Row(table, s.Name, Number(s.Arcsec, 2), Number(s.Arcsec / ArcsecPerPixel, 2), s.Basis);
        }

        Theme.Show(table);
        theme.Line($"Tracking blur, added in squares: {Number(_budget.TrackingBlurArcsec, 2)}\" = {Number(_budget.TrackingBlurArcsec / ArcsecPerPixel, 2)} pixels.");
        theme.Line($"It is mostly: {_budget.Dominant.Name}.");

        Spectre.Console.Table longest = theme.Table($"Longest exposure within {Number(AllowedArcsec, 1)}\" ({Number(AllowedArcsec / ArcsecPerPixel, 1)} pixels)", "", "seconds", "what to do");
        longest.Columns[2].Alignment = Spectre.Console.Justify.Left;
        theme.Row(longest, "now", Seconds(_longest), "");
        foreach ((BlurSource mended, double sec) in _steps)
        {
            theme.Row(longest, $"and without: {mended.Name}", Seconds(sec), mended.Remedy);
        }

        theme.Row(longest, "without tracking", Seconds(_budget.LongestUntrackedSec(AllowedArcsec)), $"rule of thumb 500/(f × crop): {Number(_budget.RuleOfFiveHundredSec, 1)} s");
        Theme.Show(longest);

        double limit = _depth.SkyLimitedSec();
        double frames = _depth.FramesFor(_surface, _in.ExposureSec, _wanted);
        theme.Line($"Sky of {_depth.SkyMagPerArcsec2:0.#} mag/arcsec²: read noise adds under 5 % from {Number(limit, 1)} s a frame on.");
        theme.Line($"Depth: {frames:0} frames of {_in.ExposureSec:0.#} s ({frames * _in.ExposureSec / 3600:0.0} h) reach {_surface:0.#} mag/arcsec² at S/N {_wanted:0.#} a pixel.");
        theme.Verdict(_budget.TrackingBlurArcsec <= AllowedArcsec
            ? $"Good: {_in.ExposureSec:0.#} s stays within {Number(AllowedArcsec, 1)}\"."
            : $"Too long: at most {Seconds(_longest)} s now. First: {_budget.Dominant.Remedy}.");
    }

    /// <summary>Writes the page's JSON fields.</summary>
    public void Write(Utf8JsonWriter w)
    {
        w.WriteString("rig", _in.Rig.Name);
        w.Number("exposure_s", _in.ExposureSec, 3);
        w.Number("focal_mm", _in.FocalMm, 2);
        w.Number("declination_deg", _in.DeclinationDeg, 4);
        w.Number("hour_angle_h", _in.HourAngleHours, 4);
        w.Number("altitude_deg", _budget.AltitudeDeg, 3);
        w.Number("arcsec_per_pixel", ArcsecPerPixel, 4);
        w.WriteStartArray("sources");
        foreach (BlurSource s in _budget.Sources)
        {
            w.WriteStartObject();
            w.WriteString("key", s.Key);
            w.WriteString("name", s.Name);
            w.Number("blur_arcsec", s.Arcsec, 4);
            w.Number("blur_px", s.Arcsec / ArcsecPerPixel, 4);
            w.Number("rate_arcsec_per_s", s.ArcsecPerSec, 7);
            w.WriteBoolean("grows_with_time", s.GrowsWithTime);
            w.WriteString("basis", s.Basis);
            w.WriteEndObject();
        }

        w.WriteEndArray();
        w.Number("tracking_blur_arcsec", _budget.TrackingBlurArcsec, 4);
        w.WriteString("dominant", _budget.Dominant.Key);
        w.Number("allowed_arcsec", AllowedArcsec, 4);
        w.Number("longest_s", _longest, 2);
        w.WriteStartArray("longest_after_mending");
        foreach ((BlurSource mended, double sec) in _steps)
        {
            w.WriteStartObject();
            w.WriteString("mended", mended.Key);
            w.Number("longest_s", sec, 2);
            w.WriteEndObject();
        }

        w.WriteEndArray();
        w.Number("longest_untracked_s", _budget.LongestUntrackedSec(AllowedArcsec), 3);
        w.Number("rule_of_500_s", _budget.RuleOfFiveHundredSec, 3);
        w.Number("sky_limited_s", _depth.SkyLimitedSec(), 2);
        w.Number("frames_for_depth", _depth.FramesFor(_surface, _in.ExposureSec, _wanted), 0);
    }

    private string Seconds(double sec) => sec >= _in.Drive.Design.TravelSec - 0.01
        ? $"whole travel ({Number(sec / 60, 0)} min)"
        : Number(sec, sec < 10 ? 1 : 0);
}
