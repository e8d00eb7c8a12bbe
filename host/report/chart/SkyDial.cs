// A clock dial about a point of the sky: where stars stand about the pole, as the eye sees them. SVG by classes of
// page.css, so that one drawing serves day, night and print.

using System.Globalization;
using static Hourhinge.Report.HtmlText;

namespace Hourhinge.Report.Charts;

/// <summary>A star on a dial.</summary>
/// <param name="ClockDeg">From straight up, clockwise.</param>
/// <param name="Radius">From the centre, 1 at the rim; beyond it the star is not drawn.</param>
/// <param name="Label">Text beside it; empty for none.</param>
/// <param name="SizePx">Radius of its disc.</param>
public sealed record DialStar(double ClockDeg, double Radius, string Label, double SizePx);

/// <summary>Stars about a point, with the hours of a clock face at the rim.</summary>
/// <param name="Title">Heading.</param>
/// <param name="Description">What the picture shows, for readers who cannot see it.</param>
/// <param name="Rim">What the rim stands for, such as "rim 45 arcmin".</param>
/// <param name="Stars">In drawing order.</param>
public sealed record SkyDial(string Title, string Description, string Rim, IReadOnlyList<DialStar> Stars)
    : Section(Title)
{
    private const double Size = 360;
    private const double Centre = Size / 2;
    private const double RimPx = 132;
    private const double LetterPx = 8.3;
    private const double LinePx = 14;

    private protected override string Kind => "part whole";

    internal override void WriteBody(HtmlText html, string id)
    {
        html.Open("svg", ("class", "dial"), ("viewBox", $"0 0 {Px(Size)} {Px(Size)}"), ("role", "img"),
            ("aria-labelledby", id + "t"), ("aria-describedby", id + "d")).Raw("\n");
        html.Element("title", Title, ("id", id + "t")).Element("desc", Description, ("id", id + "d")).Raw("\n");
        html.Raw($"<circle class=\"frame\" cx=\"{Px(Centre)}\" cy=\"{Px(Centre)}\" r=\"{Px(RimPx)}\"/>\n");
        for (int hour = 1; hour <= 12; hour++)
        {
            (double x, double y) = At(hour * 30, 1);
            (double inX, double inY) = At(hour * 30, hour % 3 == 0 ? 0.92 : 0.96);
            html.Raw($"<path class=\"frame\" d=\"M{Px(x)} {Px(y)}L{Px(inX)} {Px(inY)}\"/>\n");
            (double textX, double textY) = At(hour * 30, 1.12);
            html.Element("text", hour.ToString(CultureInfo.InvariantCulture), ("x", Px(textX)), ("y", Px(textY + 5)),
                ("text-anchor", "middle"), ("class", "tick")).Raw("\n");
        }

        html.Element("text", "up", ("x", Px(Centre)), ("y", "12"), ("text-anchor", "middle"), ("class", "tick"));
        html.Element("text", Rim, ("x", Px(Centre)), ("y", Px(Size - 4)), ("text-anchor", "middle"),
            ("class", "tick")).Raw("\n");
        html.Raw($"<path class=\"frame\" d=\"M{Px(Centre - 7)} {Px(Centre)}H{Px(Centre + 7)}M{Px(Centre)} ")
            .Raw($"{Px(Centre - 7)}V{Px(Centre + 7)}\"/>\n");
        var labels = new List<(double From, double To, double Y)>();
        foreach (DialStar star in Stars.Where(s => s.Radius <= 1))
        {
            (double x, double y) = At(star.ClockDeg, star.Radius);
            html.Raw($"<circle class=\"dot c1\" cx=\"{Px(x)}\" cy=\"{Px(y)}\" r=\"{Px(star.SizePx)}\"/>\n");
            // Beside the star, towards the inside of the dial on its right half.
            bool left = x > Centre + (RimPx * 0.35);
            double width = star.Label.Length * LetterPx;
            (double from, double to) = left ? (x - width, x) : (x, x + width);
            // The first of two labels that would touch is written.
            if (star.Label.Length > 0
                && labels.All(l => Math.Abs(l.Y - y) > LinePx || l.To < from || l.From > to))
            {
                labels.Add((from, to, y));
                html.Element("text", star.Label, ("x", Px(x + (left ? -star.SizePx - 4 : star.SizePx + 4))),
                    ("y", Px(y + 5)), ("text-anchor", left ? "end" : "start")).Raw("\n");
            }
        }

        html.Raw("</svg>\n");
    }

    private static (double X, double Y) At(double clockDeg, double radius)
    {
        double angle = clockDeg * Math.PI / 180;
        return (Centre + (RimPx * radius * Math.Sin(angle)), Centre - (RimPx * radius * Math.Cos(angle)));
    }
}
