using Hourhinge.App.Common;
using ScottPlot;

namespace Hourhinge.App.Profile;

/// <summary>The picture of `hourhinge profile --plot`: nut speed and the error of a constant speed.</summary>
internal static class ProfilePlot
{
    // A rod that needs no correction has curves of rounding noise: they are drawn as lines.
    private const double MinSpanArcsec = 2;
    private const double MinSpeedShare = 0.002;

    public static void Draw(FileInfo file, ProfileReport report, bool night)
    {
        using var canvas = new PlotCanvas($"{report.Rig.Name}: drive profile", "minutes since the start",
            "nut turns a minute", night);
        canvas.SolidLine(report.CurveMinutes, report.CurveNutTurnsPerMin, "nut turns a minute that the sky needs");
        canvas.DashedLineOnRightAxis(report.CurveMinutes, report.CurveUncorrectedArcsec,
            "error of a constant speed (right axis)", "error of a constant speed, arcsec (+ ahead)", MinSpanArcsec);
        canvas.SetMinSpan(report.CurveNutTurnsPerMin, report.NutTurnsPerMin(0) * MinSpeedShare);
        canvas.Save(file, Alignment.UpperCenter);
    }
}
