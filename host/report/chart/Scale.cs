// Maps values to positions on the paper and chooses the ticks.

using System.Globalization;

namespace Hourhinge.Report.Charts;

/// <summary>One axis laid on a stretch of paper from <paramref name="start"/> to <paramref name="end"/>
/// pixels.</summary>
internal sealed class Scale(double from, double to, bool log, double start, double end)
{
    public double From => from;

    public double To => to;

    /// <summary>Pixels; not-a-number where the value has no logarithm.</summary>
    public double At(double value) => log
        ? (value > 0 ? start + ((end - start) * Math.Log(value / from) / Math.Log(to / from)) : double.NaN)
        : start + ((end - start) * (value - from) / (to - from));

    /// <summary>Limits that hold the values, rounded outwards to ticks unless <paramref name="tight"/>, and the ticks'
    /// distance.</summary>
    public static (double From, double To, double Step) Limits(Axis axis, IEnumerable<double> values, bool tight,
        int ticks)
    {
        double[] seen = [.. values.Where(v => double.IsFinite(v) && (!axis.IsLog || v > 0))];
        double min = axis.From ?? (seen.Length > 0 ? seen.Min() : axis.IsLog ? 1 : 0);
        double max = axis.To ?? (seen.Length > 0 ? seen.Max() : min + 1);
        double span = max > min ? axis.MinSpan : Math.Max(axis.MinSpan, Math.Max(1e-9, Math.Abs(min) * 0.02));
        if (axis.IsLog && !(max > min))
        {
            (min, max) = (min / 2, min * 2);
        }
        else if (!axis.IsLog && max - min < span)
        {
            double centre = (min + max) / 2;
            (min, max) = (axis.From ?? (centre - (span / 2)), axis.To ?? (centre + (span / 2)));
        }

        double step = Step(max - min, ticks);
        if (tight)
        {
            return (min, max, step);
        }

        return (
            axis.From ?? (axis.IsLog
                ? LogTicks(min / 10, min * 1.000001).Last()
                : Math.Floor((min / step) + 1e-9) * step),
            axis.To ?? (axis.IsLog
                ? LogTicks(max * 0.999999, max * 10).First()
                : Math.Ceiling((max / step) - 1e-9) * step),
            step);
    }

    /// <summary>The axis's own ticks, or round values with their texts; about <paramref name="count"/>.</summary>
    public static IReadOnlyList<Tick> Ticks(Axis axis, double from, double to, double step, int count)
    {
        if (axis.Ticks is { } own)
        {
            IReadOnlyList<Tick> inside = [.. own.Where(t => t.Value >= from && t.Value <= to)];
            // Clock times and dates are wide: on the narrow drawing only every second or third one is kept.
            int every = Math.Max(1, (int)Math.Ceiling(inside.Count / (count * 1.6)));
            return [.. inside.Where((_, i) => i % every == 0)];
        }

        if (axis.IsLog)
        {
            double[] values = [.. LogTicks(from, to)];
            double[] decades = [.. values.Where(v => Math.Abs(Math.Log10(v) - Math.Round(Math.Log10(v))) < 1e-9)];
            return [.. (values.Length > count * 1.5 && decades.Length > 1
                ? decades
                : values).Select(v => new Tick(v, v.ToString("0.########", CultureInfo.InvariantCulture)))];
        }

        int decimals = Math.Clamp((int)Math.Ceiling(-Math.Log10(step) - 1e-9), 0, 9);
        var ticks = new List<Tick>();
        for (double k = Math.Ceiling((from / step) - 1e-6); k <= (to / step) + 1e-6; k++)
        {
            double value = k * step;
            ticks.Add(
                new Tick(value, (Math.Round(value, decimals) + 0.0).ToString("F" + decimals,
                    CultureInfo.InvariantCulture).Replace('-', '−')));
        }

        return ticks;
    }

    // 1, 2 or 5 times a power of ten.
    private static double Step(double span, int count)
    {
        double rough = span / count;
        double power = Math.Pow(10, Math.Floor(Math.Log10(rough)));
        double lead = rough / power;
        return power * (lead <= 1.0001 ? 1 : lead <= 2.0001 ? 2 : lead <= 5.0001 ? 5 : 10);
    }

    private static IEnumerable<double> LogTicks(double from, double to)
    {
        for (int power = (int)Math.Floor(Math.Log10(from)) - 1; power <= Math.Ceiling(Math.Log10(to)); power++)
        {
            foreach (int lead in new[] { 1, 2, 5 })
            {
                double value = lead * Math.Pow(10, power);
                if (value >= from * 0.9999999 && value <= to * 1.0000001)
                {
                    yield return value;
                }
            }
        }
    }
}
