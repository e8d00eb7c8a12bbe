// The frames of a star calibration on its page: for each field the drift with the fit, the residuals in pixels and
// arcseconds, and all of it as a table.

using System.Text.Json;
using Hourhinge.Report;
using Hourhinge.Report.Charts;
using static Hourhinge.App.Common.ConsoleOutput;

namespace Hourhinge.App.Calibrate;

internal static class CalibrateHtmlFrames
{
    /// <summary>Charts and a table for each field; nothing where the result holds no frames.</summary>
    public static IEnumerable<Section> Of(JsonElement result)
    {
        double[] fields = CalibrateHtmlReadings.Numbers(result, "frame_field");
        int count = fields.Length == 0 ? 0 : (int)fields.Max();
        return Enumerable.Range(1, count).SelectMany(field =>
            Field(result, [.. Enumerable.Range(0, fields.Length).Where(i => fields[i] == field)],
                count == 1 ? "" : $"Field {field}: "));
    }

    private static IEnumerable<Section> Field(JsonElement result, int[] mine, string title)
    {
        double[] Of(string name)
        {
            double[] all = CalibrateHtmlReadings.Numbers(result, name);
            return [.. mine.Select(i => all[i])];
        }

        string[] names = [.. result.GetProperty("frame_names").EnumerateArray().Select(n => n.GetString()!)];
        double[] minutes = Of("frame_minutes"), east = Of("frame_east_arcsec"), north = Of("frame_north_arcsec");
        double[] eastResidual = Of("residual_east_arcsec"), northResidual = Of("residual_north_arcsec");
        double[] eastPx = Of("residual_east_px"), northPx = Of("residual_north_px");
        bool[] isOut = [.. Of("frame_left_out").Select(v => v > 0)];
        int[] used = [.. Enumerable.Range(0, minutes.Length).Where(i => !isOut[i])];
        double Rms(double[] v) => Math.Sqrt(used.Select(i => v[i] * v[i]).DefaultIfEmpty(0).Average());
        yield return new Chart(Heading(title, "Drift and fit"),
            $"{minutes.Length} frames, {isOut.Count(o => o)} of them do not fit. The field's place against one of the "
            + "frames; the lines are what the result predicts.",
            new Axis("minutes since the first frame"), new Axis("arcsec on the sky"))
        {
            Series =
            [
                new Series("fit east", minutes, [.. east.Zip(eastResidual, (v, r) => v - r)]),
                new Series("fit north", minutes, [.. north.Zip(northResidual, (v, r) => v - r)]),
                new Series("frames east", minutes, east) { IsPoints = true },
                new Series("frames north", minutes, north) { IsPoints = true },
            ],
        };
        string rms = $"RMS east {Number(Rms(eastPx), 3)} pixels ({Number(Rms(eastResidual), 2)} arcsec), north "
            + $"{Number(Rms(northPx), 3)} pixels ({Number(Rms(northResidual), 2)} arcsec).";
        yield return new Chart(Heading(title, "Residuals"), $"Found less fitted, for each frame. {rms}",
            new Axis("minutes since the first frame"), new Axis("pixels") { MinSpan = 0.05 })
        {
            Series =
            [
                new Series("east", minutes, eastPx) { IsPoints = true },
                new Series("north", minutes, northPx) { IsPoints = true },
            ],
            Marks = [new Mark("fit", 0)],
            Lead = $"{rms} A bow or a wave means that the drive or the camera does what the fit does not know.",
        };
        yield return new DataTable(Heading(title, "The frames"),
            [Column.Text("frame"), Column.Number("time", "min"), Column.Number("east", "arcsec"),
                Column.Number("north", "arcsec"), Column.Number("residual east", "px (arcsec)"),
                Column.Number("residual north", "px (arcsec)"), Column.Text("fits")],
            [.. mine.Select((all, i) => (string[])[names[all], Number(minutes[i], 2), Number(east[i], 2),
                Number(north[i], 2), $"{Number(eastPx[i], 3)} ({Number(eastResidual[i], 2)})",
                $"{Number(northPx[i], 3)} ({Number(northResidual[i], 2)})", isOut[i] ? "no" : "yes"])]);
    }

    private static string Heading(string field, string name) =>
        field.Length == 0 ? name : field + char.ToLowerInvariant(name[0]) + name[1..];
}
