// A chart as data: axes, curves or points, bands and marks. Positions on the paper: Scale.cs; drawing:
// ChartDrawing.cs.

namespace Hourhinge.Report.Charts;

/// <summary>An axis. Without limits it fits the data.</summary>
/// <param name="Label">Name and unit.</param>
public sealed record Axis(string Label)
{
    /// <summary>Smallest value shown.</summary>
    public double? From { get; init; }

    /// <summary>Largest value shown.</summary>
    public double? To { get; init; }

    /// <summary>Smallest span shown, so that rounding noise does not fill the chart; 0 for any.</summary>
    public double MinSpan { get; init; }

    /// <summary>Logarithmic; only values above zero are shown.</summary>
    public bool IsLog { get; init; }

    /// <summary>Own ticks, such as clock times; null for round numbers.</summary>
    public IReadOnlyList<Tick>? Ticks { get; init; }
}

/// <summary>A tick with its text.</summary>
public sealed record Tick(double Value, string Text);

/// <summary>
/// A curve or a set of points. Series differ by dash or by symbol as well as by colour, in this order: solid, dashed,
/// dotted, dash-dot; disc, ring, triangle, cross. Not-a-number breaks a curve.
/// </summary>
public sealed record Series(string Name, IReadOnlyList<double> X, IReadOnlyList<double> Y)
{
    /// <summary>Symbols instead of a line.</summary>
    public bool IsPoints { get; init; }
}

/// <summary>A shaded range of x or of y.</summary>
public sealed record Band(string Name, double From, double To)
{
    /// <summary>The range is of x (a time of day) instead of y (a tolerance).</summary>
    public bool IsOfX { get; init; }
}

/// <summary>A thin dotted line at a value of y, or of x.</summary>
public sealed record Mark(string Name, double At)
{
    /// <summary>The value is of x.</summary>
    public bool IsOfX { get; init; }
}

/// <summary>A line or point chart of up to four series, drawn wide for screens and paper and narrow for
/// phones.</summary>
/// <param name="Title">Heading.</param>
/// <param name="Description">The finding that the picture shows, for readers who cannot see it.</param>
/// <param name="X">Axis across.</param>
/// <param name="Y">Axis upwards.</param>
public sealed record Chart(string Title, string Description, Axis X, Axis Y) : Section(Title)
{
    /// <summary>Largest number of series; their patterns differ.</summary>
    public const int MaxSeries = 4;

    /// <summary>One to four series of as many x as y.</summary>
    public required IReadOnlyList<Series> Series { get; init; }

    /// <summary>Shaded ranges, behind everything.</summary>
    public IReadOnlyList<Band> Bands { get; init; } = [];

    /// <summary>Lines at values.</summary>
    public IReadOnlyList<Mark> Marks { get; init; } = [];

    private protected override string Kind => "part whole";

    internal override void WriteBody(HtmlText html, string id)
    {
        if (Series.Count is 0 or > MaxSeries)
        {
            throw new ArgumentException($"chart '{Title}': {Series.Count} series; must be 1 to {MaxSeries}");
        }

        if (Series.FirstOrDefault(s => s.X.Count != s.Y.Count) is { } odd)
        {
            throw new ArgumentException(
                $"chart '{Title}': series '{odd.Name}' has {odd.X.Count} x and {odd.Y.Count} y");
        }

        new ChartDrawing(this, id + "w", "wide", 864, 250, 8).Write(html);
        new ChartDrawing(this, id + "n", "narrow", 360, 250, 4).Write(html);
    }
}
