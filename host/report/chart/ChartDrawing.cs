// Draws a chart as SVG. Text stays text; colours and dashes are classes of page.css, so that one drawing serves day,
// night and print. Scales and ticks: Scale.cs.

using System.Text;
using static Hourhinge.Report.HtmlText;

namespace Hourhinge.Report.Charts;

/// <summary>One drawing of a chart, with the paper's size in pixels and how many ticks fit across.</summary>
internal sealed class ChartDrawing
{
    private const int LineHeight = 20;
    // Mean advance of a figure in the faces of page.css at 14 px, on the large side.
    private const double FigureWidth = 8.3;

    private readonly Chart _chart;
    private readonly string _id;
    private readonly string _kind;
    private readonly IReadOnlyList<Tick> _xTicks;
    private readonly IReadOnlyList<Tick> _yTicks;
    private readonly Scale _x;
    private readonly Scale _y;
    private readonly double _left;
    private readonly double _right;
    private readonly double _top;
    private readonly double _bottom;
    private readonly double _width;
    private readonly List<LegendItem> _legend;

    public ChartDrawing(Chart chart, string id, string kind, double width, double plotHeight, int xTicks)
    {
        (_chart, _id, _kind, _width) = (chart, id, kind, width);
        (double from, double to, double yStep) = Scale.Limits(chart.Y,
            chart.Series.SelectMany(s => s.Y).Concat(chart.Marks.Where(m => !m.IsOfX).Select(m => m.At)), false, 6);
        (double first, double last, double xStep) =
            Scale.Limits(chart.X, chart.Series.SelectMany(s => s.X), true, xTicks);
        _yTicks = Scale.Ticks(chart.Y, from, to, yStep, 6);
        _xTicks = Scale.Ticks(chart.X, first, last, xStep, xTicks);
        _left = (_yTicks.Select(t => t.Text.Length).DefaultIfEmpty(0).Max() * FigureWidth) + 12;
        _right = width - 16;
        _legend = Legend(width);
        _top = ((_legend.Count == 0 ? 0 : _legend.Max(l => l.Row) + 1) * LineHeight) + LineHeight + 20;
        _bottom = _top + plotHeight;
        _x = new Scale(first, last, chart.X.IsLog, _left, _right);
        _y = new Scale(from, to, chart.Y.IsLog, _bottom, _top);
    }

    public void Write(HtmlText html)
    {
        double height = _bottom + (LineHeight * 2) + 6;
        html.Open(
            "svg",
            ("class", _kind),
            ("viewBox", $"0 0 {Px(_width)} {Px(height)}"),
            ("role", "img"),
            ("aria-labelledby", _id + "t"),
            ("aria-describedby", _id + "d")).Raw("\n");
        html.Element("title", _chart.Title, ("id", _id + "t")).Element("desc", _chart.Description, ("id", _id + "d"))
            .Raw("\n");
        html.Raw(
            $"<clipPath id=\"{_id}c\"><rect x=\"{Px(_left)}\" y=\"{Px(_top)}\" width=\"{Px(_right - _left)}\" "
            + $"height=\"{Px(_bottom - _top)}\"/></clipPath>\n");
        foreach (LegendItem item in _legend)
        {
            double y = (item.Row * LineHeight) + 14;
            item.Draw(html, item.At, y - 5);
            html.Element("text", item.Name, ("x", Px(item.At + 38)), ("y", Px(y))).Raw("\n");
        }

        html.Element("text", _chart.Y.Label, ("x", "0"), ("y", Px(_top - 14)), ("class", "tick")).Raw("\n");
        html.Raw($"<g clip-path=\"url(#{_id}c)\">\n");
        Bands(html);
        html.Raw("</g>\n");
        Axes(html);
        html.Raw($"<g clip-path=\"url(#{_id}c)\">\n");
        foreach (Mark mark in _chart.Marks)
        {
            html.Raw(mark.IsOfX
                ? $"<path class=\"mark\" d=\"M{Px(_x.At(mark.At))} {Px(_top)}V{Px(_bottom)}\"/>\n"
                : $"<path class=\"mark\" d=\"M{Px(_left)} {Px(_y.At(mark.At))}H{Px(_right)}\"/>\n");
        }

        for (int i = 0; i < _chart.Series.Count; i++)
        {
            if (!_chart.Series[i].IsPoints)
            {
                html.Raw($"<path class=\"line c{i + 1}\" d=\"{Curve(_chart.Series[i])}\"/>\n");
            }
        }

        html.Raw("</g>\n");
        // Symbols are not clipped, so that those on the frame stay complete; those outside the limits are omitted.
        for (int i = 0; i < _chart.Series.Count; i++)
        {
            if (_chart.Series[i].IsPoints)
            {
                Points(html, _chart.Series[i], i);
            }
        }

        html.Raw("</svg>\n");
    }

    private void Bands(HtmlText html)
    {
        foreach (Band band in _chart.Bands)
        {
            double a = Math.Clamp(band.IsOfX ? _x.At(band.From) : _y.At(band.From), -1e5, 1e5);
            double b = Math.Clamp(band.IsOfX ? _x.At(band.To) : _y.At(band.To), -1e5, 1e5);
            string low = Px(Math.Min(a, b));
            string size = Px(Math.Abs(a - b));
            html.Raw(band.IsOfX
                ? $"<rect class=\"band\" x=\"{low}\" y=\"{Px(_top)}\" width=\"{size}\" "
                    + $"height=\"{Px(_bottom - _top)}\"/>\n"
                : $"<rect class=\"band\" x=\"{Px(_left)}\" y=\"{low}\" width=\"{Px(_right - _left)}\" "
                    + $"height=\"{size}\"/>\n");
        }
    }

    private void Axes(HtmlText html)
    {
        foreach (Tick tick in _yTicks)
        {
            string y = Px(_y.At(tick.Value));
            html.Raw($"<path class=\"grid\" d=\"M{Px(_left)} {y}H{Px(_right)}\"/>");
            html.Element("text", tick.Text, ("x", Px(_left - 7)), ("y", Px(_y.At(tick.Value) + 5)),
                ("text-anchor", "end"), ("class", "tick")).Raw("\n");
        }

        foreach (Tick tick in _xTicks)
        {
            double x = _x.At(tick.Value);
            double half = tick.Text.Length * FigureWidth / 2;
            html.Raw($"<path class=\"frame\" d=\"M{Px(x)} {Px(_bottom)}v5\"/>");
            html.Element("text", tick.Text, ("x", Px(Math.Clamp(x, half, _width - half))),
                ("y", Px(_bottom + LineHeight)), ("text-anchor", "middle"), ("class", "tick")).Raw("\n");
        }

        html.Raw($"<path class=\"frame\" d=\"M{Px(_left)} {Px(_top)}V{Px(_bottom)}H{Px(_right)}\"/>\n");
        html.Element("text", _chart.X.Label, ("x", Px((_left + _right) / 2)), ("y", Px(_bottom + (2 * LineHeight))),
            ("text-anchor", "middle"), ("class", "tick")).Raw("\n");
    }

    // Dense curves are reduced to the first, smallest, largest and last point of every half pixel: the drawing stays
    // the same.
    private string Curve(Series series)
    {
        var path = new StringBuilder();
        bool isPenUp = true;
        var bucket = new List<(double X, double Y)>();
        void Flush()
        {
            if (bucket.Count > 4)
            {
                int min = bucket.IndexOf(bucket.MinBy(p => p.Y));
                int max = bucket.IndexOf(bucket.MaxBy(p => p.Y));
                int[] keep = [.. new[] { 0, min, max, bucket.Count - 1 }.Distinct().Order()];
                bucket = [.. keep.Select(k => bucket[k])];
            }

            foreach ((double x, double y) in bucket)
            {
                path.Append(isPenUp ? 'M' : 'L').Append(Px(x)).Append(' ').Append(Px(y));
                isPenUp = false;
            }

            bucket.Clear();
        }

        for (int i = 0; i < series.X.Count; i++)
        {
            double x = _x.At(series.X[i]);
            double y = _y.At(series.Y[i]);
            if (!double.IsFinite(x) || !double.IsFinite(y))
            {
                Flush();
                isPenUp = true;
                continue;
            }

            if (bucket.Count > 0 && Math.Floor(bucket[0].X * 2) != Math.Floor(x * 2))
            {
                Flush();
            }

            // A coordinate far outside the frame is limited; it stays outside.
            bucket.Add((x, Math.Clamp(y, -1e5, 1e5)));
        }

        Flush();
        return path.ToString();
    }

    private void Points(HtmlText html, Series series, int index)
    {
        for (int i = 0; i < series.X.Count; i++)
        {
            double x = _x.At(series.X[i]);
            double y = _y.At(series.Y[i]);
            if (x >= _left - 0.01 && x <= _right + 0.01 && y >= _top - 0.01 && y <= _bottom + 0.01)
            {
                Symbol(html, index, x, y);
            }
        }
    }

    private static void Symbol(HtmlText html, int index, double x, double y)
    {
        string at = $"{Px(x)} {Px(y)}";
        html.Raw(index switch
        {
            0 => $"<circle class=\"dot c1\" cx=\"{Px(x)}\" cy=\"{Px(y)}\" r=\"3\"/>",
            1 => $"<circle class=\"dot c2\" cx=\"{Px(x)}\" cy=\"{Px(y)}\" r=\"4\"/>",
            2 => $"<path class=\"dot c3\" d=\"M{at}m0 -5l5 9h-10z\"/>",
            _ => $"<path class=\"dot c4\" d=\"M{at}m-4 -4l8 8m0 -8l-8 8\"/>",
        }).Raw("\n");
    }

    // The legend is above the plot, where it covers nothing, in as many rows as the width needs.
    private List<LegendItem> Legend(double width)
    {
        var items = new List<LegendItem>();
        double next = 0;
        int row = 0;
        void Add(string name, Sample draw)
        {
            double room = 38 + (name.Length * 7.4);
            if (next > 0 && next + room > width)
            {
                row++;
                next = 0;
            }

            items.Add(new LegendItem(name, row, next, draw));
            next += room + 24;
        }

        for (int i = 0; i < _chart.Series.Count; i++)
        {
            int index = i;
            Add(_chart.Series[i].Name, _chart.Series[i].IsPoints
                ? (html, x, y) => Symbol(html, index, x + 16, y)
                : (html, x, y) => html.Raw($"<path class=\"line c{index + 1}\" d=\"M{Px(x)} {Px(y)}h32\"/>"));
        }

        foreach (string name in _chart.Marks.Select(m => m.Name).Where(n => n.Length > 0).Distinct())
        {
            Add(name, (html, x, y) => html.Raw($"<path class=\"mark\" d=\"M{Px(x)} {Px(y)}h32\"/>"));
        }

        foreach (string name in _chart.Bands.Select(b => b.Name).Where(n => n.Length > 0).Distinct())
        {
            Add(name, (html, x, y) =>
                html.Raw($"<rect class=\"band\" x=\"{Px(x)}\" y=\"{Px(y - 7)}\" width=\"32\" height=\"14\"/>"));
        }

        return items;
    }

    private delegate void Sample(HtmlText html, double x, double y);

    private sealed record LegendItem(string Name, int Row, double At, Sample Draw);
}
