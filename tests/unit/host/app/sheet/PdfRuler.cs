using UglyToad.PdfPig;
using UglyToad.PdfPig.Content;
using UglyToad.PdfPig.Core;

namespace Hourhinge.Tests.Host.App.Sheet;

/// <summary>A drawn line or curve of a PDF, in mm from the page's lower left corner.</summary>
internal sealed record MeasuredPath(IReadOnlyList<(double X, double Y)> Points)
{
    public double LengthMm => Points.Zip(Points.Skip(1), (a, b) => Math.Sqrt(Math.Pow(b.X - a.X, 2)
        + Math.Pow(b.Y - a.Y, 2))).Sum();

    public double Width => Points.Max(p => p.X) - Points.Min(p => p.X);

    public double Height => Points.Max(p => p.Y) - Points.Min(p => p.Y);

    public (double X, double Y) Middle => ((Points.Max(p => p.X) + Points.Min(p => p.X)) / 2,
        (Points.Max(p => p.Y) + Points.Min(p => p.Y)) / 2);

    /// <summary>Radius of the circle through both ends and the middle of the path.</summary>
    public double RadiusMm
    {
        get
        {
            (double X, double Y) a = Points[0], b = Points[Points.Count / 2], c = Points[^1];
            double area = Math.Abs(((b.X - a.X) * (c.Y - a.Y)) - ((c.X - a.X) * (b.Y - a.Y))) / 2;
            static double Side((double X, double Y) p, (double X, double Y) q) =>
                Math.Sqrt(Math.Pow(p.X - q.X, 2) + Math.Pow(p.Y - q.Y, 2));
            return Side(a, b) * Side(b, c) * Side(c, a) / (4 * area);
        }
    }
}

/// <summary>Reads a PDF with PdfPig and measures what is drawn.</summary>
internal static class PdfRuler
{
    private const double MmPerPoint = 25.4 / 72;
    private const int Steps = 64;

    public static (double WidthMm, double HeightMm) Size(Page page) =>
        (page.Width * MmPerPoint, page.Height * MmPerPoint);

    public static IReadOnlyList<MeasuredPath> Paths(Page page) =>
        [.. page.Paths.SelectMany(p => p).Select(Measure).Where(p => p.Points.Count > 1)];

    public static PdfDocument Open(string path) => PdfDocument.Open(path);

    private static MeasuredPath Measure(PdfSubpath path)
    {
        var points = new List<(double, double)>();
        foreach (PdfSubpath.IPathCommand command in path.Commands)
        {
            switch (command)
            {
                case PdfSubpath.Move move:
                    points.Add((move.Location.X * MmPerPoint, move.Location.Y * MmPerPoint));
                    break;
                case PdfSubpath.Line line:
                    points.Add((line.To.X * MmPerPoint, line.To.Y * MmPerPoint));
                    break;
                case PdfSubpath.CubicBezierCurve c:
                    for (int i = 1; i <= Steps; i++)
                    {
                        double t = (double)i / Steps;
                        double u = 1 - t;
                        double At(double a, double b, double d, double e) => MmPerPoint
                            * ((u * u * u * a) + (3 * u * u * t * b) + (3 * u * t * t * d) + (t * t * t * e));
                        points.Add((At(c.StartPoint.X, c.FirstControlPoint.X, c.SecondControlPoint.X, c.EndPoint.X),
                            At(c.StartPoint.Y, c.FirstControlPoint.Y, c.SecondControlPoint.Y, c.EndPoint.Y)));
                    }

                    break;
            }
        }

        return new MeasuredPath(points);
    }
}
