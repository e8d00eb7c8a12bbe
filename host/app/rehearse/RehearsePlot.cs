using Hourhinge.App.Common;
using Hourhinge.Rehearsal.Tracking;
using ScottPlot;

namespace Hourhinge.App.Rehearse;

/// <summary>
/// The picture of `hourhinge rehearse --plot`: error against minutes, with Hourhinge and with a constant voltage, and
/// one pixel of the camera as a band.
/// </summary>
internal static class RehearsePlot
{
    public static void Draw(FileInfo file, string rigName, RehearsalResult result, LensScale? lens, bool night)
    {
        using var canvas = new PlotCanvas($"{rigName}: tracking error", "minutes since the start",
            "error, arcseconds (below 0: behind the sky)", night);
        double view = Math.Max(result.PeakArcsec, lens?.ArcsecPerPixel ?? 1) * 3;
        if (lens != null)
        {
            canvas.Band(-lens.ArcsecPerPixel / 2, lens.ArcsecPerPixel / 2,
                $"one pixel at {lens.FocalMm:0.#} mm ({lens.ArcsecPerPixel:0.0}\")");
        }

        canvas.DashedLine(result.Minutes, result.ConstantArcsec, "constant-voltage drive, set by eye");
        canvas.SolidLine(result.Minutes, result.TrackedArcsec, $"Hourhinge, peak {result.PeakArcsec:0.00}\"");
        canvas.SetLimits(0, result.TrackedMinutes, -view, view);
        canvas.Save(file, Alignment.LowerLeft);
    }
}
