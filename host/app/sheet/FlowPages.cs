// Text, tables and lists that flow down a page and on to the next.

using SkiaSharp;

namespace Hourhinge.App.Sheet;

/// <summary>Collects blocks of text and makes pages of them.</summary>
internal sealed class FlowPages(Paper paper, string title, string footer, double lineMm = FlowPages.UsualLineMm)
{
    /// <summary>Distance of the lines, mm.</summary>
    public const double UsualLineMm = 4.7;

    private const double TextMm = 3.4;

    private readonly List<List<Action<Pen>>> _pages = [[]];
    private double _y = paper.Area.Top;

    private static double Left => Paper.MarginMm;

    private double Width => paper.WidthMm - (2 * Paper.MarginMm);

    public void Heading(string text)
    {
        // Not alone at the foot of a page.
        Room(5 * lineMm);
        _y += 2;
        double y = Take(6);
        Add(pen =>
        {
            pen.Text(Left, y + 4.2, text, 4.2, bold: true);
            pen.Line(Left, y + 5.4, Left + Width, y + 5.4, 0.3);
        });
    }

    public void Paragraph(string text, string mark = "", bool bold = false)
    {
        double indent = mark.Length == 0 ? 0 : 6;
        foreach ((string line, int i) in Pen.Wrap(text, Width - indent, TextMm, bold).Select((l, i) => (l, i)))
        {
            double y = Take(lineMm);
            Add(pen =>
            {
                if (i == 0)
                {
                    pen.Text(Left, y + 3.6, mark, TextMm, bold);
                }

                pen.Text(Left + indent, y + 3.6, line, TextMm, bold);
            });
        }
    }

    /// <summary>A box to tick.</summary>
    public void Check(string text)
    {
        Room(lineMm);
        double y = _y;
        Add(pen =>
        {
            using var paint = new SKPaint { Style = SKPaintStyle.Stroke, StrokeWidth = 0.3f, Color = SKColors.Black };
            pen.Canvas.DrawRect((float)Left, (float)(y + 0.8), 3, 3, paint);
        });
        Paragraph(text, " ");
    }

    /// <summary>A table; widths are shares of the page's width.</summary>
    public void Table(double[] shares, string[] heads, IEnumerable<string[]> rows)
    {
        Row(shares, heads, true);
        foreach (string[] row in rows)
        {
            Row(shares, row, false);
        }

        _y += 1;
    }

    public IEnumerable<SheetPage> Pages()
    {
        for (int i = 0; i < _pages.Count; i++)
        {
            List<Action<Pen>> parts = _pages[i];
            string name = _pages.Count == 1 ? title : $"{title}, {i + 1} of {_pages.Count}";
            yield return new SheetPage(name, pen =>
            {
                pen.Text(Left, Paper.MarginMm + 4, name, 5, bold: true);
                pen.Text(Left, paper.HeightMm - Paper.MarginMm, footer, 2.6);
                parts.ForEach(draw => draw(pen));
            });
        }
    }

    private void Row(double[] shares, string[] cells, bool bold)
    {
        string[][] lines = [.. cells.Select((c, i) => Pen.Wrap(c, (shares[i] * Width) - 2, TextMm, bold).ToArray())];
        double y = Take((lines.Max(l => l.Length) * lineMm) + 0.6);
        Add(pen =>
        {
            double x = Left;
            for (int i = 0; i < lines.Length; i++)
            {
                for (int n = 0; n < lines[i].Length; n++)
                {
                    pen.Text(x, y + 3.6 + (n * lineMm), lines[i][n], TextMm, bold);
                }

                x += shares[i] * Width;
            }

            double below = y + (lines.Max(l => l.Length) * lineMm) + 0.4;
            pen.Line(Left, below, Left + Width, below, bold ? 0.3 : 0.1);
        });
    }

    private void Room(double height)
    {
        if (_y + height > paper.Area.Bottom)
        {
            _pages.Add([]);
            // The head of these pages is the title alone.
            _y = Paper.MarginMm + 8;
        }
    }

    private double Take(double height)
    {
        if (_pages is [{ Count: 0 }])
        {
            _y = Paper.MarginMm + 8;
        }

        Room(height);
        double y = _y;
        _y += height;
        return y;
    }

    private void Add(Action<Pen> draw) => _pages[^1].Add(draw);
}
