using Hourhinge.App.Budget;
using Hourhinge.App.Profile;
using Hourhinge.Rehearsal.Tracking;
using ScottPlot;
using ScottPlot.Plottables;

namespace Hourhinge.App.Common;

/// <summary>Pictures as PNG or SVG, by the file's ending. Lines differ in pattern as well as in colour.</summary>
internal static class Plots
{
    private const int WidthPx = 1000;
    private const int HeightPx = 600;

    /// <summary>Refuses a plot file of a kind that cannot be written, before any work is done.</summary>
    public static void Check(FileInfo? file)
    {
        if (file != null && file.Extension.ToUpperInvariant() is not (".PNG" or ".SVG"))
        {
            throw new InputException($"--plot {file.Name}: the name must end with .png or .svg.");
        }
    }

    /// <summary>Error against minutes, with Hourhinge and without, and the camera's pixel as a band.</summary>
    public static void Rehearsal(FileInfo file, string rigName, RehearsalResult result, LensScale? lens, bool night)
    {
        var colours = new Colours(night);
        using var plot = new Plot();
        colours.Paint(plot);
        double worst = Math.Max(result.PeakArcsec, lens?.ArcsecPerPixel ?? 1);
        double view = worst * 3;
        if (lens != null)
        {
            VerticalSpan band = plot.Add.VerticalSpan(-lens.ArcsecPerPixel / 2, lens.ArcsecPerPixel / 2);
            band.FillStyle.Color = colours.Band;
            band.LineStyle.Width = 0;
            band.LegendText = $"one pixel at {lens.FocalMm:0.#} mm ({lens.ArcsecPerPixel:0.0}\")";
            view = Math.Max(view, lens.ArcsecPerPixel * 2);
        }

        Scatter constant = plot.Add.Scatter(result.Minutes, result.ConstantArcsec);
        constant.LegendText = "constant-voltage drive, right at the start";
        Style(constant, colours.Bad, LinePattern.Dashed, 2);
        Scatter tracked = plot.Add.Scatter(result.Minutes, result.TrackedArcsec);
        tracked.LegendText = $"Hourhinge, peak {result.PeakArcsec:0.00}\"";
        Style(tracked, colours.Good, LinePattern.Solid, 2);
        plot.Title($"{rigName}: how far the camera strays from the sky");
        plot.XLabel("minutes since the start");
        plot.YLabel("error, arcseconds (below 0: behind the sky)");
        plot.Axes.SetLimits(0, result.TrackedMinutes, -view, view);
        plot.ShowLegend(Alignment.LowerLeft);
        Save(plot, file);
    }

    /// <summary>The speed the nut needs, and the error of a constant speed, against minutes.</summary>
    public static void Profile(FileInfo file, ProfileReport report, bool night)
    {
        var colours = new Colours(night);
        using var plot = new Plot();
        colours.Paint(plot);
        Scatter speed = plot.Add.Scatter(report.CurveMinutes, report.CurveNutTurnsPerMin);
        speed.LegendText = "nut turns a minute that the sky needs";
        Style(speed, colours.Good, LinePattern.Solid, 2);
        Scatter error = plot.Add.Scatter(report.CurveMinutes, report.CurveUncorrectedArcsec);
        error.LegendText = "error of a constant speed (right axis)";
        Style(error, colours.Bad, LinePattern.Dashed, 2);
        error.Axes.YAxis = plot.Axes.Right;
        plot.Axes.Right.Label.Text = "error of a constant speed, arcsec (+ ahead)";
        plot.Axes.Right.Label.ForeColor = colours.Ink;
        plot.Title($"{report.Rig.Name}: drive profile");
        plot.XLabel("minutes since the start");
        plot.YLabel("nut turns a minute");
        plot.ShowLegend(Alignment.UpperCenter);
        Save(plot, file);
    }

    /// <summary>Tracking blur against exposure, now and with the three largest sources mended, and the blur
    /// allowed.</summary>
    public static void Budget(FileInfo file, string rigName, BudgetPage page, bool night)
    {
        var colours = new Colours(night);
        using var plot = new Plot();
        colours.Paint(plot);
        VerticalSpan band = plot.Add.VerticalSpan(0, page.AllowedArcsec);
        band.FillStyle.Color = colours.Band;
        band.LineStyle.Width = 0;
        band.LegendText = $"blur allowed, {page.AllowedArcsec:0.0}\"";
        Scatter now = plot.Add.Scatter(page.CurveSec, page.CurveNow);
        now.LegendText = "now";
        Style(now, colours.Bad, LinePattern.Dashed, 2);
        Scatter mended = plot.Add.Scatter(page.CurveSec, page.CurveMended);
        mended.LegendText = "with the three largest sources mended";
        Style(mended, colours.Good, LinePattern.Solid, 2);
        plot.Title($"{rigName}: blur from tracking");
        plot.XLabel("exposure, seconds");
        plot.YLabel("blur, arcseconds");
        plot.Axes.SetLimits(0, page.CurveSec[^1], 0, Math.Max(page.CurveNow[^1], page.AllowedArcsec * 1.5));
        plot.ShowLegend(Alignment.UpperLeft);
        Save(plot, file);
    }

    private static void Style(ScottPlot.Plottables.Scatter line, Color colour, LinePattern pattern, float width)
    {
        line.MarkerSize = 0;
        line.LineWidth = width;
        line.Color = colour;
        line.LinePattern = pattern;
    }

    private static void Save(Plot plot, FileInfo file)
    {
        try
        {
            if (file.Extension.Equals(".svg", StringComparison.OrdinalIgnoreCase))
            {
                plot.SaveSvg(file.FullName, WidthPx, HeightPx);
            }
            else
            {
                plot.SavePng(file.FullName, WidthPx, HeightPx);
            }
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            throw new InputException($"--plot {file.Name}: cannot write the picture: {e.Message}");
        }
    }

    // Day: black on white, blue and orange. Night: shades of red on black.
    private sealed class Colours(bool night)
    {
        public Color Ink { get; } = Color.FromHex(night ? "#B00000" : "#202020");

        public Color Good { get; } = Color.FromHex(night ? "#FF3030" : "#0057B8");

        public Color Bad { get; } = Color.FromHex(night ? "#900000" : "#C05000");

        public Color Band { get; } = Color.FromHex(night ? "#300000" : "#D8E8D0");

        public void Paint(Plot plot)
        {
            Color paper = Color.FromHex(night ? "#000000" : "#FFFFFF");
            plot.FigureBackground.Color = paper;
            plot.DataBackground.Color = paper;
            plot.Axes.Color(Ink);
            plot.Grid.MajorLineColor = Ink.WithAlpha(0.15);
            plot.Legend.BackgroundColor = paper;
            plot.Legend.FontColor = Ink;
            plot.Legend.OutlineColor = Ink;
            plot.Axes.Title.Label.ForeColor = Ink;
        }
    }
}
