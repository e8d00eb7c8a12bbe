// Looks for a period in the drift along the sky: least squares of a sine beside a slow drift over a grid of frequencies
// (Lomb-Scargle with a floating mean, Zechmeister & Kuerster 2009, A&A 496, 577; idea from memory), then refined.
using MathNet.Numerics.LinearAlgebra;

namespace Hourhinge.Calibration.Stars;

internal static class PeriodSearch
{
    public sealed record Finding(double PeriodSeconds, double SigmaSeconds, int Tries);

    /// <summary>The strongest period between twice the frame gap and two thirds of the run; null with under 10
    /// frames.</summary>
    public static Finding? Find(IReadOnlyList<DriftSample> samples, DriftModel model)
    {
        int n = samples.Count;
        if (n < 10)
        {
            return null;
        }

        double[] times = samples.Select(s => s.TimeSeconds - model.MidTime).ToArray();
        double[] drift = Enumerable.Range(0, n).Select(model.HourAngle).ToArray();
        double span = times.Max() - times.Min();
        double[] sorted = times.Order().ToArray();
        double gap = sorted.Skip(1).Zip(sorted, (b, a) => b - a).Order().ElementAt((n - 1) / 2);
        double lowest = 1.5 / span, highest = 0.5 / gap;
        if (highest <= lowest)
        {
            return null;
        }

        double step = 1 / (10 * span), best = double.MaxValue, at = 0;
        for (double f = lowest; f <= highest; f += step)
        {
            double left = Left(f, times, drift, samples, model, span);
            if (left < best)
            {
                (best, at) = (left, f);
            }
        }
        double from = at - step, to = at + step;
        for (int i = 0; i < 40; i++)
        {
            double a = from + ((to - from) * 0.382), b = from + ((to - from) * 0.618);
            if (Left(a, times, drift, samples, model, span) < Left(b, times, drift, samples, model, span))
            {
                to = b;
            }
            else
            {
                from = a;
            }
        }
        at = (from + to) / 2;
        // Curvature of the sum of squares at its minimum gives the frequency's standard error.
        double h = step / 4;
        best = Left(at, times, drift, samples, model, span);
        double curvature = (Left(at + h, times, drift, samples, model, span)
            + Left(at - h, times, drift, samples, model, span) - (2 * best)) / (h * h);
        double variance = best / Math.Max(n - 7, 1);
        double sigma = curvature > 0 ? Math.Sqrt(2 * variance / curvature) : highest;
        return new Finding(1 / at, sigma / (at * at), Math.Max(1, (int)((highest - lowest) * span)));
    }

    private static double Left(double f, double[] times, double[] drift, IReadOnlyList<DriftSample> samples,
        DriftModel model, double span)
    {
        int n = times.Length, segments = model.SegmentCount;
        Matrix<double> x = Matrix<double>.Build.Dense(n, segments + 5);
        for (int i = 0; i < n; i++)
        {
            double u = times[i] / span * 2;
            x[i, model.SegmentOf(i)] = 1;
            (x[i, segments], x[i, segments + 1], x[i, segments + 2]) = (u, u * u, u * u * u);
            (x[i, segments + 3], x[i, segments + 4]) =
                (Math.Sin(2 * Math.PI * f * times[i]), Math.Cos(2 * Math.PI * f * times[i]));
        }
        Matrix<double> normal = x.TransposeThisAndMultiply(x);
        for (int i = 0; i < normal.RowCount; i++)
        {
            normal[i, i] += 1e-9;
        }

        Vector<double> y = Vector<double>.Build.Dense(drift);
        Vector<double> residual = y - (x * normal.Solve(x.TransposeThisAndMultiply(y)));
        // Huber's loss in units of the median residual keeps one bad frame from choosing the period.
        double size = residual.Select(Math.Abs).Order().ElementAt(n / 2) / 0.6745;
        double k = 3 * Math.Max(size, 1e-9);
        return residual.Sum(r => Math.Abs(r) <= k ? r * r : (2 * k * Math.Abs(r)) - (k * k));
    }
}
