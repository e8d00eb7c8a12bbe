// A streak's ends and direction: the light is binned along the streak's axis and a uniform stretch blurred by a
// Gaussian
// is fitted, I(u) = A/2 [erf((u - u1)/s√2) - erf((u - u2)/s√2)]; the direction comes from a line through the light.
// Not here: what a streak's length means (Calibration/StoppedSky).
using Hourhinge.Frames.Reading;
using Hourhinge.Numerics;
using MathNet.Numerics;

namespace Hourhinge.Frames.Stars;

internal static class StreakMeasure
{
    private const double Root2 = 1.4142135623730951;

    public static Streak? Measure(FrameImage image, Background sky, List<PixelRun> runs, in SourceShape shape)
    {
        double angle = 0.5 * Math.Atan2(2 * shape.Cxy, shape.Cxx - shape.Cyy);
        (double major, double minor) = shape.Axes();
        double cross = Math.Clamp(minor, 0.8, 10), half = Math.Ceiling((major * 1.7320508) + (6 * cross) + 2);
        double cx = shape.X, cy = shape.Y;
        double[] bins = Array.Empty<double>();
        bool cut = shape.AtEdge;
        // Twice: the first pass straightens axis and middle, the second bins along the straightened axis.
        for (int pass = 0; pass < 2; pass++)
        {
            double ux = Math.Cos(angle), uy = Math.Sin(angle);
            int n = (2 * (int)half) + 3;
            bins = new double[n];
            double sw = 0, su = 0, sv = 0, suu = 0, suv = 0, svv = 0;
            double reachX = Math.Abs(half * ux) + (4 * cross) + 1, reachY = Math.Abs(half * uy) + (4 * cross) + 1;
            for (int y = Math.Max((int)(cy - reachY), 0); y <= Math.Min((int)(cy + reachY), image.Height - 1); y++)
            {
                // Only the pixels near the axis: where the row crosses the band of +-4 widths.
                double mid = Math.Abs(uy) > 0.05 ? cx + ((y - cy) * ux / uy) : cx;
                double wide = Math.Abs(uy) > 0.05 ? ((4 * cross) + 1) / Math.Abs(uy) : reachX;
                for (int x = Math.Max((int)Math.Max(mid - wide, cx - reachX), 0);
                    x <= Math.Min((int)Math.Min(mid + wide, cx + reachX) + 1, image.Width - 1); x++)
                {
                    double u = ((x - cx) * ux) + ((y - cy) * uy), v = ((y - cy) * ux) - ((x - cx) * uy);
                    if (Math.Abs(v) > 4 * cross || Math.Abs(u) > half)
                    {
                        continue;
                    }

                    double p = image[x, y] - sky.At(x, y);
                    double at = u + half + 1;
                    int i = (int)at;
                    bins[i] += p * (1 - (at - i));
                    bins[i + 1] += p * (at - i);
                    double w = Math.Max(p, 0) * Math.Exp(-0.5 * v * v / (cross * cross * 2.25));
                    sw += w;
                    su += w * u;
                    sv += w * v;
                    suu += w * u * u;
                    suv += w * u * v;
                    svv += w * v * v;
                }
            }
            if (sw <= 0)
            {
                return null;
            }

            double mu = su / sw, mv = sv / sw, varU = (suu / sw)
                - (mu * mu), slope = ((suv / sw) - (mu * mv)) / Math.Max(varU, 1e-9);
            if (pass == 0)
            {
                cx += (mu * ux) - (mv * uy);
                cy += (mu * uy) + (mv * ux);
                angle += Math.Atan(slope);
                cross = Math.Clamp(Math.Sqrt(Math.Max((svv / sw) - (mv * mv), 0.3)) * 1.2, 0.7, 10);
            }
        }
        return FitEnds(bins, half, cx, cy, angle, cross, major, shape.Flux, cut);
    }

    private static Streak? FitEnds(double[] bins, double half, double cx, double cy, double angle, double cross,
        double major, double flux, bool cut)
    {
        double guess = major * 1.7320508;
        double[] start = new[] { bins.Sum() / (2 * guess), -guess, guess, cross };
        double[] u = Enumerable.Range(0, bins.Length).Select(i => i - half - 1).ToArray();
        SmallLeastSquaresFit? fit = SmallLeastSquares.Solve(start, bins.Length, (p, r) =>
        {
            double s = Math.Max(Math.Abs(p[3]), 0.3) * Root2;
            for (int i = 0; i < r.Length; i++)
            {
                r[i] = bins[i]
                    - (p[0] / 2 * (SpecialFunctions.Erf((u[i] - p[1]) / s) - SpecialFunctions.Erf((u[i] - p[2]) / s)));
            }
        });
        if (fit is null)
        {
            return null;
        }

        double a = fit.Values[1], b = fit.Values[2], sigma = Math.Abs(fit.Values[3]);
        if (!(b > a) || Math.Abs(a) > half || Math.Abs(b) > half || sigma > 10)
        {
            return null;
        }

        double endSigma = Math.Max(fit.Sigma(1), Math.Max(fit.Sigma(2), 0.01));
        double ux = Math.Cos(angle), uy = Math.Sin(angle);
        return new Streak(cx + (a * ux), cy + (a * uy), cx + (b * ux), cy + (b * uy), sigma, flux, endSigma, cut);
    }
}
