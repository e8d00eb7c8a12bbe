using Hourhinge.App.Common;
using ScottPlot;

namespace Hourhinge.App.Profile;

/// <summary>The picture of `hourhinge profile --plot`: nut speed and the error of a constant speed.</summary>
internal static class ProfilePlot
{
    public static void Draw(FileInfo file, ProfileReport report, bool night)
    {
        using var canvas = new PlotCanvas($"{report.Rig.Name}: drive profile", "minutes since the start",
            "nut turns a minute", night);
        canvas.SolidLine(report.CurveMinutes, report.CurveNutTurnsPerMin, "nut turns a minute that the sky needs");
        canvas.DashedLineOnRightAxis(report.CurveMinutes, report.CurveUncorrectedArcsec,
            "error of a constant speed (right axis)", "error of a constant speed, arcsec (+ ahead)");
        canvas.Save(file, Alignment.UpperCenter);
    }
}
