// Paper and pen: pages in millimetres, drawn by Skia into PDF or SVG. What is drawn: RodTemplates, BoardTemplates,
// FieldSheet.

using SkiaSharp;

namespace Hourhinge.App.Sheet;

/// <summary>A sheet of paper, upright.</summary>
internal sealed record Paper(string Name, double WidthMm, double HeightMm)
{
    /// <summary>Kept free by common printers (common practice, no source).</summary>
    public const double MarginMm = 12;

    /// <summary>Room for title and check bar, and for the last line.</summary>
    public const double HeadMm = 18, FootMm = 8;

    /// <summary>ISO 216.</summary>
    public static Paper A4 { get; } = new("A4", 210, 297);

    /// <summary>ANSI/ASME Y14.1: 8.5 in by 11 in.</summary>
    public static Paper Letter { get; } = new("Letter", 215.9, 279.4);

    /// <summary>The area for drawings.</summary>
    public SKRect Area => new((float)MarginMm, (float)(MarginMm + HeadMm), (float)(WidthMm - MarginMm),
        (float)(HeightMm - MarginMm - FootMm));
}

/// <summary>Draws on a canvas whose unit is the millimetre; black on white only.</summary>
internal sealed class Pen(SKCanvas canvas)
{
    /// <summary>Widths of lines, mm.</summary>
    public const double Fine = 0.15, Bold = 0.5;

    // Faces of the usual systems; any other is better than none.
    private static readonly string[] _families =
        ["DejaVu Sans", "Liberation Sans", "Arial", "Helvetica", "Segoe UI", "Noto Sans"];

    private static readonly SKTypeface _face = Face(SKFontStyle.Normal);
    private static readonly SKTypeface _boldFace = Face(SKFontStyle.Bold);

    public SKCanvas Canvas => canvas;

    public void Line(double x1, double y1, double x2, double y2, double width = Fine, bool dashed = false)
    {
        using SKPaint paint = Stroke(width, dashed);
        using var builder = new SKPath();
        builder.MoveTo((float)x1, (float)y1);
        builder.LineTo((float)x2, (float)y2);
        canvas.DrawPath(builder, paint);
    }

    /// <summary>An arc about a centre, from an angle to another, in radians from the x axis towards y.</summary>
    public void Arc(double cx, double cy, double radius, double from, double to, double width = Fine,
        bool dashed = false)
    {
        using SKPaint paint = Stroke(width, dashed);
        using SKPath path = ArcPath(cx, cy, radius, from, to);
        canvas.DrawPath(path, paint);
    }

    public void Circle(double cx, double cy, double radius, double width = Fine, bool dashed = false) =>
        Arc(cx, cy, radius, 0, 2 * Math.PI, width, dashed);

    /// <summary>A cross at a point.</summary>
    public void Cross(double x, double y, double size = 4, double width = Fine)
    {
        Line(x - size, y, x + size, y, width);
        Line(x, y - size, x, y + size, width);
    }

    /// <summary>Text with its baseline's start at a point; size is the height of the letters' em, mm.</summary>
    public void Text(double x, double y, string text, double size = 3.4, bool bold = false,
        SKTextAlign align = SKTextAlign.Left)
    {
        using SKFont font = Font(size, bold);
        using var paint = new SKPaint { Color = SKColors.Black, IsAntialias = true };
        canvas.DrawText(Common.VisibleText.Of(text), (float)x, (float)y, align, font, paint);
    }

    /// <summary>Width of a text, mm.</summary>
    public static double Width(string text, double size, bool bold = false)
    {
        using SKFont font = Font(size, bold);
        return font.MeasureText(text);
    }

    /// <summary>The text in lines no wider than a width.</summary>
    public static IEnumerable<string> Wrap(string text, double widthMm, double size, bool bold = false)
    {
        string line = "";
        foreach (string word in text.Split(' '))
        {
            string longer = line.Length == 0 ? word : $"{line} {word}";
            if (line.Length > 0 && Width(longer, size, bold) > widthMm)
            {
                yield return line;
                longer = word;
            }

            line = longer;
        }

        yield return line;
    }

    // Cubic pieces of at most 10 degrees: exact to a nanometre. Skia's own arcs are approximated more coarsely in PDF.
    private static SKPath ArcPath(double cx, double cy, double radius, double from, double to)
    {
        int pieces = Math.Max(1, (int)Math.Ceiling(Math.Abs(to - from) / (Math.PI / 18)));
        double step = (to - from) / pieces;
        double k = 4.0 / 3 * Math.Tan(step / 4) * radius;
        var path = new SKPath();
        path.MoveTo((float)(cx + (radius * Math.Cos(from))), (float)(cy + (radius * Math.Sin(from))));
        for (int i = 0; i < pieces; i++)
        {
            double a = from + (i * step);
            double b = a + step;
            path.CubicTo(
                (float)(cx + (radius * Math.Cos(a)) - (k * Math.Sin(a))),
                (float)(cy + (radius * Math.Sin(a)) + (k * Math.Cos(a))),
                (float)(cx + (radius * Math.Cos(b)) + (k * Math.Sin(b))),
                (float)(cy + (radius * Math.Sin(b)) - (k * Math.Cos(b))),
                (float)(cx + (radius * Math.Cos(b))),
                (float)(cy + (radius * Math.Sin(b))));
        }

        return path;
    }

    // Letters of a few units: without these settings their widths are rounded to whole units.
    private static SKFont Font(double size, bool bold) => new(bold ? _boldFace : _face, (float)size)
    {
        Subpixel = true,
        LinearMetrics = true,
        Hinting = SKFontHinting.None,
    };

    private static SKTypeface Face(SKFontStyle style) => _families
        .Select(name => SKTypeface.FromFamilyName(name, style))
        .FirstOrDefault(face => face != null && _families.Contains(face.FamilyName)) ?? SKTypeface.Default;

    private static SKPaint Stroke(double width, bool dashed) => new()
    {
        Color = SKColors.Black,
        Style = SKPaintStyle.Stroke,
        StrokeWidth = (float)width,
        IsAntialias = true,
        PathEffect = dashed ? SKPathEffect.CreateDash([2f, 1.2f], 0) : null,
    };
}

/// <summary>One page: draws itself on a canvas in millimetres.</summary>
internal sealed record SheetPage(string Title, Action<Pen> Draw);

/// <summary>Pages to bytes.</summary>
internal static class SheetFile
{
    private const double PointsPerMm = 72 / 25.4;

    /// <summary>All pages as one PDF.</summary>
    public static byte[] Pdf(Paper paper, string title, IReadOnlyList<SheetPage> pages)
    {
        using var stream = new MemoryStream();
        var metadata = new SKDocumentPdfMetadata { Title = title, Creator = "Hourhinge", RasterDpi = 300 };
        using (SKDocument document = SKDocument.CreatePdf(stream, metadata))
        {
            foreach (SheetPage page in pages)
            {
                SKCanvas canvas = document.BeginPage((float)(paper.WidthMm * PointsPerMm),
                    (float)(paper.HeightMm * PointsPerMm));
                canvas.Scale((float)PointsPerMm);
                page.Draw(new Pen(canvas));
                document.EndPage();
            }

            document.Close();
        }

        return stream.ToArray();
    }

    /// <summary>One page as SVG, in millimetres.</summary>
    public static string Svg(Paper paper, SheetPage page)
    {
        using var stream = new MemoryStream();
        using (SKCanvas canvas =
            SKSvgCanvas.Create(new SKRect(0, 0, (float)paper.WidthMm, (float)paper.HeightMm), stream))
        {
            page.Draw(new Pen(canvas));
        }

        string svg = System.Text.Encoding.UTF8.GetString(stream.ToArray());
        // Skia writes the page's size without a unit; with millimetres it prints in true size.
        int at = svg.IndexOf("<svg", StringComparison.Ordinal);
        int end = svg.IndexOf('>', at);
        string head = $"<svg xmlns=\"http://www.w3.org/2000/svg\" xmlns:xlink=\"http://www.w3.org/1999/xlink\" "
            + $"width=\"{paper.WidthMm}mm\" height=\"{paper.HeightMm}mm\" "
            + $"viewBox=\"0 0 {paper.WidthMm} {paper.HeightMm}\">";
        return svg[..at] + head + svg[(end + 1)..];
    }
}
