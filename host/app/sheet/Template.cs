// A drawing in true size and its pages: cut into tiles where it is larger than the paper.

using SkiaSharp;

namespace Hourhinge.App.Sheet;

/// <summary>A drawing in true size.</summary>
/// <param name="Title">Heading of its pages.</param>
/// <param name="WidthMm">Width of the drawing.</param>
/// <param name="HeightMm">Height of the drawing.</param>
/// <param name="Draw">Draws from (0, 0) to (width, height), y down.</param>
internal sealed record Template(string Title, double WidthMm, double HeightMm, Action<Pen> Draw)
{
    private const double OverlapMm = 10;
    private const double CheckMm = 100;

    /// <summary>The pages: one, or tiles with marks that are laid over one another.</summary>
    public IEnumerable<SheetPage> Pages(Paper paper, string footer)
    {
        SKRect area = paper.Area;
        int Tiles(double width, double height) => Count(width, area.Width) * Count(height, area.Height);
        bool turned = Tiles(HeightMm, WidthMm) < Tiles(WidthMm, HeightMm);
        (double width, double height) = turned ? (HeightMm, WidthMm) : (WidthMm, HeightMm);
        (int columns, int rows) = (Count(width, area.Width), Count(height, area.Height));
        for (int row = 0; row < rows; row++)
        {
            for (int column = 0; column < columns; column++)
            {
                (int c, int r) = (column, row);
                string tile = columns * rows == 1 ? "" : $", tile {Name(c, r)} of {columns} × {rows}";
                yield return new SheetPage(Title + tile, pen =>
                {
                    Frame(pen, paper, Title + tile, footer);
                    double left = area.Left - (c * (area.Width - OverlapMm));
                    double top = area.Top - (r * (area.Height - OverlapMm));
                    if (columns == 1)
                    {
                        left += (area.Width - width) / 2;
                    }

                    pen.Canvas.Save();
                    pen.Canvas.ClipRect(area);
                    pen.Canvas.Translate((float)left, (float)top);
                    if (turned)
                    {
                        pen.Canvas.Translate((float)width, 0);
                        pen.Canvas.RotateDegrees(90);
                    }

                    Draw(pen);
                    pen.Canvas.Restore();
                    Marks(pen, area, c, r, columns, rows);
                });
            }
        }
    }

    /// <summary>Title, check bar and last line of a page.</summary>
    public static void Frame(Pen pen, Paper paper, string title, string footer)
    {
        double left = Paper.MarginMm;
        double room = paper.WidthMm - (2 * left);
        pen.Text(left, Paper.MarginMm + 4, title, Math.Min(4.6, 4.6 * room / Pen.Width(title, 4.6, true)), bold: true);
        double y = Paper.MarginMm + 10;
        pen.Line(left, y, left + CheckMm, y, Pen.Bold);
        for (int mm = 0; mm <= CheckMm; mm += 10)
        {
            pen.Line(left + mm, y, left + mm, y + (mm % 50 == 0 ? 2.6 : 1.4), Pen.Fine);
        }

        pen.Text(left + CheckMm + 3, y + 1.6, "100 mm: measure it. Print at 100 %, not \"fit to page\".", 3);
        pen.Text(left, paper.HeightMm - Paper.MarginMm, footer, 2.6);
    }

    private static int Count(double size, double room) =>
        size <= room ? 1 : 1 + (int)Math.Ceiling((size - room) / (room - OverlapMm));

    private static string Name(int column, int row) => $"{(char)('A' + row)}{column + 1}";

    // Crosses in the middle of the overlaps: two neighbours fit when their crosses lie on one another.
    private static void Marks(Pen pen, SKRect area, int column, int row, int columns, int rows)
    {
        double half = OverlapMm / 2;
        foreach ((int dx, int dy) in new[] { (0, 0), (1, 0), (0, 1), (1, 1) })
        {
            bool isJoint = (dx == 0 ? column > 0 : column < columns - 1) || (dy == 0 ? row > 0 : row < rows - 1);
            if (!isJoint)
            {
                continue;
            }

            double x = dx == 0 ? area.Left + half : area.Right - half;
            double y = dy == 0 ? area.Top + half : area.Bottom - half;
            pen.Cross(x, y, 3);
            pen.Circle(x, y, 1.5);
        }

        if (column < columns - 1)
        {
            pen.Text(area.Right - half - 4, area.Bottom - half - 5, $"{Name(column + 1, row)} >", 2.8,
                align: SKTextAlign.Right);
        }

        if (row < rows - 1)
        {
            pen.Text(area.Left + half + 5, area.Bottom - half + 1, $"below: {Name(column, row + 1)}", 2.8);
        }
    }
}
