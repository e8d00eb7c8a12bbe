using ScottPlot;
using ScottPlot.Plottables;

namespace Hourhinge.App.Common;

/// <summary>
/// The canvas of every --plot picture: size, colours of day and night, line styles, PNG or SVG by the file's ending.
/// What is drawn on it belongs to the commands. Lines differ in pattern as well as in colour.
/// </summary>
internal sealed class PlotCanvas : IDisposable
{
    private const int WidthPx = 1000;
    private const int HeightPx = 600;

    private readonly Plot _plot = new();
    private readonly Color _ink;
    private readonly Color _good;
    private readonly Color _bad;
    private readonly Color _band;

    /// <summary>An empty canvas. Day: blue and orange on white. Night: shades of red on black.</summary>
    public PlotCanvas(string title, string xLabel, string yLabel, bool night)
    {
        _ink = Color.FromHex(night ? "#B00000" : "#202020");
        _good = Color.FromHex(night ? "#FF3030" : "#0057B8");
        _bad = Color.FromHex(night ? "#900000" : "#C05000");
        _band = Color.FromHex(night ? "#300000" : "#D8E8D0");
        Color paper = Color.FromHex(night ? "#000000" : "#FFFFFF");
        _plot.FigureBackground.Color = paper;
        _plot.DataBackground.Color = paper;
        _plot.Axes.Color(_ink);
        _plot.Grid.MajorLineColor = _ink.WithAlpha(0.15);
        _plot.Legend.BackgroundColor = paper;
        _plot.Legend.FontColor = _ink;
        _plot.Legend.OutlineColor = _ink;
        _plot.Axes.Title.Label.ForeColor = _ink;
        _plot.Title(title);
        _plot.XLabel(xLabel);
        _plot.YLabel(yLabel);
    }

    /// <summary>Rejects a plot file of a kind that cannot be written, before any work is done.</summary>
    public static void Check(FileInfo? file)
    {
        if (file != null && file.Extension.ToUpperInvariant() is not (".PNG" or ".SVG"))
        {
            throw new InputException($"--plot {file.Name}: the name must end with .png or .svg.");
        }

        AtomicFile.Check(file, "--plot");
    }

    /// <summary>A shaded range of y. Add it before the lines, so that it lies behind them.</summary>
    public void Band(double from, double to, string legend)
    {
        VerticalSpan band = _plot.Add.VerticalSpan(from, to);
        band.FillStyle.Color = _band;
        band.LineStyle.Width = 0;
        band.LegendText = legend;
    }

    /// <summary>The wanted curve: solid.</summary>
    public void SolidLine(double[] x, double[] y, string legend) => Line(x, y, legend, _good, LinePattern.Solid);

    /// <summary>The curve to compare with: dashed.</summary>
    public void DashedLine(double[] x, double[] y, string legend) => Line(x, y, legend, _bad, LinePattern.Dashed);

    /// <summary>A dashed curve with a y axis of its own at the right, which spans at least <paramref name="minSpan"/>.
    /// </summary>
    public void DashedLineOnRightAxis(double[] x, double[] y, string legend, string axisLabel, double minSpan = 0)
    {
        Line(x, y, legend, _bad, LinePattern.Dashed).Axes.YAxis = _plot.Axes.Right;
        SetMinSpan(_plot.Axes.Right, y, minSpan);
        _plot.Axes.Right.Label.Text = axisLabel;
        _plot.Axes.Right.Label.ForeColor = _ink;
    }

    /// <summary>Keeps the left axis from magnifying a curve that varies by less than a span.</summary>
    public void SetMinSpan(double[] y, double minSpan) => SetMinSpan(_plot.Axes.Left, y, minSpan);

    /// <summary>Limits of both axes; without this call they fit the data.</summary>
    public void SetLimits(double left, double right, double bottom, double top) =>
        _plot.Axes.SetLimits(left, right, bottom, top);

    /// <summary>Draws the legend, writes the file and reports it on standard error.</summary>
    public void Save(FileInfo file, Alignment legend)
    {
        _plot.ShowLegend(legend);
        if (file.Extension.Equals(".svg", StringComparison.OrdinalIgnoreCase))
        {
            AtomicFile.Write(file, "--plot", _plot.GetSvgXml(WidthPx, HeightPx));
        }
        else
        {
            AtomicFile.Write(file, "--plot", _plot.GetImageBytes(WidthPx, HeightPx, ImageFormat.Png));
        }

        ConsoleOutput.WriteRemark($"Drew {file}.");
    }

    public void Dispose() => _plot.Dispose();

    private static void SetMinSpan(IYAxis axis, double[] y, double minSpan)
    {
        double[] seen = [.. y.Where(double.IsFinite)];
        if (seen.Length > 0 && seen.Max() - seen.Min() < minSpan)
        {
            double centre = (seen.Max() + seen.Min()) / 2;
            axis.Range.Set(centre - (minSpan / 2), centre + (minSpan / 2));
        }
    }

    private Scatter Line(double[] x, double[] y, string legend, Color colour, LinePattern pattern)
    {
        Scatter line = _plot.Add.Scatter(x, y);
        line.LegendText = legend;
        line.MarkerSize = 0;
        line.LineWidth = 2;
        line.Color = colour;
        line.LinePattern = pattern;
        return line;
    }
}
