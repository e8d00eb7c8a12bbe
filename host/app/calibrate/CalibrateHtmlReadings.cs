// The readings of a calibration on its page: readings with the fit, residuals, and both as a table.

using System.Text.Json;
using Hourhinge.Report;
using Hourhinge.Report.Charts;
using static Hourhinge.App.Common.ConsoleOutput;

namespace Hourhinge.App.Calibrate;

internal static class CalibrateHtmlReadings
{
    // What each method measured: x against y, and which of the two the residual belongs to.
    private sealed record Layout(string X, string Y, string Residual, string XName, string YName, string ResidualName,
        bool IsResidualOfX, double ResidualPerUnit);

    private static readonly Layout[] _layouts =
    [
        new("reading_minutes", "reading_nut_turns", "residual_s", "minutes", "nut turns", "late, s", true, 60),
        new("reading_rod_mm", "reading_angle_deg", "residual_deg", "rod, mm", "opening, °", "found − fitted, °",
            false, 1),
        new("reading_motor_v", "reading_turns_per_min", "residual_turns_per_min", "volts at the motor",
            "turns a minute", "found − fitted, turns a minute", false, 1),
        new("frame_minutes", "sky_turn_arcsec", "residual_turn_arcsec", "minutes", "turn of the sky, arcsec",
            "found − fitted, arcsec", false, 1),
    ];

    /// <summary>Charts and table, as far as the result holds readings; for the stars, the correction along the
    /// travel.</summary>
    public static IEnumerable<Section> Of(JsonElement result)
    {
        foreach (Layout layout in _layouts)
        {
            double[] x = Numbers(result, layout.X);
            double[] y = Numbers(result, layout.Y);
            double[] residual = Numbers(result, layout.Residual);
            if (x.Length > 0 && x.Length == y.Length && x.Length == residual.Length)
            {
                return Readings(result, layout, x, y, residual);
            }
        }

        return
        [
            .. CalibrateHtmlFrames.Of(result),
            .. Value(result, "hold_min") is > 0 and double hold ? [Correction(result, hold)] : Array.Empty<Section>(),
        ];
    }

    /// <summary>An array of numbers; empty where there is none.</summary>
    public static double[] Numbers(JsonElement result, string name) =>
        result.TryGetProperty(name, out JsonElement list) && list.ValueKind == JsonValueKind.Array
            ? [.. list.EnumerateArray().Select(v => v.ValueKind == JsonValueKind.Number ? v.GetDouble() : double.NaN)]
            : [];

    private static double Value(JsonElement result, string name) =>
        result.TryGetProperty(name, out JsonElement v) && v.ValueKind == JsonValueKind.Number
            ? v.GetDouble() : double.NaN;

    private static IEnumerable<Section> Readings(JsonElement result, Layout at, double[] x, double[] y,
        double[] residual)
    {
        double[] lines = Numbers(result, "reading_lines");
        HashSet<double> outliers = [.. Numbers(result, "outlier_lines")];
        bool[] isOut = [.. x.Select((_, i) => i < lines.Length && outliers.Contains(lines[i]))];
        int[] order = [.. Enumerable.Range(0, x.Length).OrderBy(i => x[i])];
        double[] fitX = [.. order.Select(i => at.IsResidualOfX ? x[i] - (residual[i] / at.ResidualPerUnit) : x[i])];
        double[] fitY = [.. order.Select(i => at.IsResidualOfX ? y[i] : y[i] - (residual[i] / at.ResidualPerUnit))];
        double worst = order.Where(i => !isOut[i] && double.IsFinite(residual[i]))
            .Select(i => Math.Abs(residual[i])).DefaultIfEmpty(0).Max();
        yield return new Chart("Readings and fit",
            $"{x.Length} readings, {isOut.Count(o => o)} left out. The line is what the result predicts.",
            new Axis(at.XName), new Axis(at.YName))
        {
            Series = [new Series("fit", fitX, fitY), .. Points(x, y)],
        };
        yield return new Chart("Residuals",
            $"Of the readings used, the largest is {Number(worst, 3)} ({at.ResidualName}). A bow or a wave means that "
            + "the rig does what the fit does not know.",
            new Axis(at.XName), new Axis(at.ResidualName) { MinSpan = 1e-3 })
        {
            Series = [.. Points(x, residual)],
            Marks = [new Mark("fit", 0)],
        };
        yield return new DataTable("The readings",
            [Column.Number("line"), Column.Number(at.XName), Column.Number(at.YName), Column.Number(at.ResidualName),
                Column.Text("used")],
            [.. x.Select((_, i) => (string[])[i < lines.Length ? $"{lines[i]:0}" : $"{i + 1}", Number(x[i], 3),
                Number(y[i], 3), Number(residual[i], 3), isOut[i] ? "left out" : "yes"])]);

        IEnumerable<Series> Points(double[] px, double[] py)
        {
            int[] used = [.. order.Where(i => !isOut[i])];
            int[] left = [.. order.Where(i => isOut[i])];
            yield return new Series("readings", [.. used.Select(i => px[i])], [.. used.Select(i => py[i])])
            { IsPoints = true };
            if (left.Length > 0)
            {
                yield return new Series("left out", [.. left.Select(i => px[i])], [.. left.Select(i => py[i])])
                { IsPoints = true };
            }
        }
    }

    private static Chart Correction(JsonElement result, double holdMin)
    {
        double start = Value(result, "correction_ppm");
        double slope = Value(result, "slope_ppm_per_hour");
        double curve = Value(result, "curve_ppm_per_hour2");
        double[] minutes = [.. Enumerable.Range(0, 61).Select(i => holdMin * 1.2 * i / 60)];
        double[] ppm = [.. minutes.Select(m =>
        {
            double hours = Math.Min(m, holdMin) / 60;
            return start + (slope * hours) + (curve * hours * hours);
        })];
        return new Chart("Rate correction along the travel",
            $"From {Number(ppm[0], 0)} ppm at the start to {Number(ppm[^1], 0)} ppm from minute "
            + $"{Number(holdMin, 1)}, where the frames end.",
            new Axis("minutes since the start"), new Axis("ppm (+ faster)") { MinSpan = 10 })
        {
            Series = [new Series("correction", minutes, ppm)],
        };
    }
}
