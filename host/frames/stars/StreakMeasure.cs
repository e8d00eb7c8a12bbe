// A streak's ends and direction: the light is binned along the streak's axis and a uniform stretch blurred by a
// Gaussian is fitted, I(u) = A/2 [erf((u - u1)/s√2) - erf((u - u2)/s√2)]; the direction comes from a line through the
// light. Not here: what a streak's length means (Calibration/StoppedSky).
using Hourhinge.Frames.Reading;
using Hourhinge.Numerics;
using MathNet.Numerics;
using MathNet.Numerics.LinearAlgebra;

namespace Hourhinge.Frames.Stars;

internal static class StreakMeasure
{
    private const double Root2 = 1.4142135623730951;
    private const double MinWidth = 0.3;

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
        double[] scale = [Math.Max(Math.Abs(start[0]), 1e-9), cross, cross, cross];
        var fit =
            LeastSquares.Solve(p => Residuals(p, bins, u), start, scale, null, (p, slopes) => Slopes(p, u, slopes));
        double a = fit.Parameters[1], b = fit.Parameters[2], sigma = Math.Abs(fit.Parameters[3]);
        if (!fit.Converged || !(b > a) || Math.Abs(a) > half || Math.Abs(b) > half || sigma > 10)
        {
            return null;
        }

        Matrix<double> covariance = fit.Covariance();
        double endSigma = Math.Sqrt(Math.Max(covariance[1, 1], covariance[2, 2]));
        if (!double.IsFinite(endSigma))
        {
            return null;
        }

        endSigma = Math.Max(endSigma, 0.01);
        double ux = Math.Cos(angle), uy = Math.Sin(angle);
        return new Streak(cx + (a * ux), cy + (a * uy), cx + (b * ux), cy + (b * uy), sigma, flux, endSigma, cut);
    }

    // Parameters: height, both ends, width.
    private static double[] Residuals(double[] p, double[] bins, double[] u)
    {
        double s = Math.Max(Math.Abs(p[3]), MinWidth) * Root2;
        double[] r = new double[bins.Length];
        for (int i = 0; i < r.Length; i++)
        {
            r[i] = bins[i]
                - (p[0] / 2 * (SpecialFunctions.Erf((u[i] - p[1]) / s) - SpecialFunctions.Erf((u[i] - p[2]) / s)));
        }

        return r;
    }

    // d erf(x)/dx = 2/√π exp(-x²).
    private static void Slopes(double[] p, double[] u, Matrix<double> slopes)
    {
        double s = Math.Max(Math.Abs(p[3]), MinWidth) * Root2, height = p[0] / Math.Sqrt(Math.PI) / s;
        double widthSlope = Math.Abs(p[3]) > MinWidth ? Math.Sign(p[3]) * Root2 : 0;
        for (int i = 0; i < u.Length; i++)
        {
            double a = (u[i] - p[1]) / s, b = (u[i] - p[2]) / s;
            double atStart = Math.Exp(-a * a), atEnd = Math.Exp(-b * b);
            slopes[i, 0] = (SpecialFunctions.Erf(b) - SpecialFunctions.Erf(a)) / 2;
            slopes[i, 1] = height * atStart;
            slopes[i, 2] = -height * atEnd;
            slopes[i, 3] = height * widthSlope * ((a * atStart) - (b * atEnd));
        }
    }
}
