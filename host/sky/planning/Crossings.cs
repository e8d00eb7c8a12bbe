// Times at which a smooth curve crosses zero: used for twilight, rise, set and "when above".
using Hourhinge.Sky.Time;
using MathNet.Numerics.RootFinding;

namespace Hourhinge.Sky.Planning;

/// <summary>A crossing of zero.</summary>
/// <param name="Time">When, within 0.1 s of the curve's own crossing.</param>
/// <param name="IsRising">From negative to positive.</param>
public readonly record struct Crossing(Instant Time, bool IsRising);

/// <summary>A stretch of time.</summary>
public readonly record struct TimeWindow(Instant Start, Instant End)
{
    public double Hours => End.MinutesSince(Start) / 60;

    public bool Contains(Instant t) => t >= Start && t <= End;

    /// <summary>The common part, or null.</summary>
    public TimeWindow? Overlap(TimeWindow other)
    {
        Instant start = Start > other.Start ? Start : other.Start;
        Instant end = End < other.End ? End : other.End;
        return start < end ? new TimeWindow(start, end) : null;
    }
}

/// <summary>Finds crossings by stepping, then by Brent's method (Math.NET Numerics).</summary>
internal static class Crossings
{
    private const double AccuracyDays = 0.05 / 86400;

    /// <summary>All crossings of zero, in time order.</summary>
    /// <param name="height">A smooth curve, radians above the level.</param>
    /// <param name="span">Where to look.</param>
    /// <param name="stepMinutes">Shorter than the distance between extrema; grazing crossings within a step are found
    /// as well.</param>
    public static IReadOnlyList<Crossing> Find(Func<Instant, double> height, TimeWindow span, double stepMinutes)
    {
        var found = new List<Crossing>();
        int steps = Math.Max(2, (int)Math.Ceiling(span.Hours * 60 / stepMinutes));
        double step = (span.End.UtcDays - span.Start.UtcDays) / steps;
        double beforeLast = double.NaN, last = height(span.Start);
        for (int i = 1; i <= steps; i++)
        {
            Instant from = span.Start.PlusDays((i - 1) * step);
            Instant to = span.Start.PlusDays(i * step);
            double now = height(to);
            if ((last < 0) != (now < 0))
            {
                found.Add(Refine(height, from, to, last < 0));
            }
            else if (HasExtremum(beforeLast, last, now))
            {
                AddGrazing(height, from.PlusDays(-step), to, last < 0, found);
            }

            (beforeLast, last) = (last, now);
        }

        found.Sort((a, b) => a.Time.CompareTo(b.Time));
        return found;
    }

    /// <summary>The stretches of a span in which the curve is at or above zero.</summary>
    public static IReadOnlyList<TimeWindow> Above(
        Func<Instant, double> height, TimeWindow span, double stepMinutes)
    {
        var stretches = new List<TimeWindow>();
        Instant? since = height(span.Start) >= 0 ? span.Start : null;
        foreach (Crossing crossing in Find(height, span, stepMinutes))
        {
            if (!crossing.IsRising && since is { } start)
            {
                stretches.Add(new TimeWindow(start, crossing.Time));
            }

            since = crossing.IsRising ? crossing.Time : null;
        }

        if (since is { } open)
        {
            stretches.Add(new TimeWindow(open, span.End));
        }

        return stretches;
    }

    /// <summary>True when the second of three samples of one sign is nearest to zero: two crossings may lie beside
    /// it.</summary>
    private static bool HasExtremum(double a, double b, double c) =>
        (a < 0) == (b < 0) && Math.Abs(b) <= Math.Abs(a) && Math.Abs(b) <= Math.Abs(c);

    private static void AddGrazing(
        Func<Instant, double> height, Instant from, Instant to, bool below, List<Crossing> found)
    {
        double sign = below ? -1.0 : 1.0;
        double turning = GoldenSectionMinimum(days => sign * height(from.PlusDays(days)), to.UtcDays - from.UtcDays);
        Instant extremum = from.PlusDays(turning);
        if ((height(extremum) < 0) == below)
        {
            return;
        }

        found.Add(Refine(height, from, extremum, below));
        found.Add(Refine(height, extremum, to, !below));
    }

    private static Crossing Refine(Func<Instant, double> height, Instant from, Instant to, bool rising)
    {
        double days = Brent.FindRoot(d => height(from.PlusDays(d)), 0, to.UtcDays - from.UtcDays, AccuracyDays, 100);
        return new Crossing(from.PlusDays(days), rising);
    }

    /// <summary>Minimum of a curve with one minimum on [0, length], by golden-section search.</summary>
    private static double GoldenSectionMinimum(Func<double, double> curve, double length)
    {
        const double Ratio = 0.6180339887498949;
        double low = 0, high = length;
        while (high - low > AccuracyDays)
        {
            double left = high - (Ratio * (high - low));
            double right = low + (Ratio * (high - low));
            if (curve(left) < curve(right))
            {
                high = right;
            }
            else
            {
                low = left;
            }
        }

        return (low + high) / 2;
    }
}
