using Hourhinge.App.Common;
using ScottPlot;

namespace Hourhinge.App.Budget;

/// <summary>
/// The picture of `hourhinge budget --plot`: tracking blur against exposure, now and with the three improvements,
/// and the blur allowed as a band.
/// </summary>
internal static class BudgetPlot
{
    public static void Draw(FileInfo file, string rigName, BudgetPage page, bool night)
    {
        using var canvas =
            new PlotCanvas($"{rigName}: blur from tracking", "exposure, seconds", "blur, arcseconds", night);
        canvas.Band(0, page.AllowedArcsec, $"blur allowed, {page.AllowedArcsec:0.0}\"");
        canvas.DashedLine(page.CurveSec, page.CurveNow, "now");
        canvas.SolidLine(page.CurveSec, page.CurveReduced, "with the three improvements");
        canvas.SetLimits(0, page.CurveSec[^1], 0, Math.Max(page.CurveNow[^1], page.AllowedArcsec * 1.5));
        canvas.Save(file, Alignment.UpperLeft);
    }
}
