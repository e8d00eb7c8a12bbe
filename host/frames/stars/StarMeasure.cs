// A star's centre and shape by adaptive moments: an elliptical Gaussian window whose own centre and shape are iterated
// until they match the star's (Bernstein & Jarvis 2002, AJ 123, 583, section 3.1; from memory, formulas derived anew).
// For a Gaussian of covariance C seen through a window W the product has covariance (C^-1 + W^-1)^-1.
// Not here: finding (SourceScan), streaks (StreakMeasure).
using System.Numerics;
using System.Runtime.CompilerServices;
using Hourhinge.Frames.Reading;

namespace Hourhinge.Frames.Stars;

internal static class StarMeasure
{
    private const int Rounds = 20;
    private const int LargestRadius = 24;

    // Narrower windows than this would feel the pixel grid.
    private const double MinWindow = 0.6;

    // Variance of a pixel's own width, 1/12 px², and a little.
    private const double MinProduct = 0.1;

    // A window a little larger than the star: as good for faint stars, better for bright ones, whose own photons are
    // the noise (measured best between 1.0 and 1.5 on stars of 0.85 to 2 px sigma).
    private const double Wider = 1.2;

    /// <summary>Measures around a first guess; null where nothing star-like is there.</summary>
    public static Star? Measure(FrameImage image, Background sky, in SourceShape guess) =>
        Measure(image, sky, guess, isLocal: false);

    /// <summary>The same in the glow of a cloud, where the window would go on widening: the level of the patch's rim is
    /// the sky, its scatter the noise.</summary>
    public static Star? MeasureInGlow(FrameImage image, Background sky, in SourceShape guess) =>
        Measure(image, sky, guess, isLocal: true);

    private static Star? Measure(FrameImage image, Background sky, in SourceShape guess, bool isLocal)
    {
        double x = guess.X, y = guess.Y;
        // Moments of the pixels above a threshold are too small; the first round of matching mends it.
        double cxx = Math.Max(guess.Cxx, 0.7), cyy = Math.Max(guess.Cyy, 0.7), cxy = guess.Cxy * 0.9;
        int radius = (int)Math.Clamp(Math.Ceiling(4.5 * Math.Sqrt(Math.Max(cxx, cyy))), 4, LargestRadius);
        int side = (2 * radius) + 1;
        int x0 = (int)Math.Round(x) - radius, y0 = (int)Math.Round(y) - radius;
        int fromX = Math.Max(x0, 0), toX = Math.Min(x0 + side, image.Width);
        int fromY = Math.Max(y0, 0), toY = Math.Min(y0 + side, image.Height);
        if (toX - fromX < side / 2 || toY - fromY < side / 2)
        {
            return null;
        }

        int stride = (side + Vector<float>.Count) / Vector<float>.Count * Vector<float>.Count;
        Span<float> patch = stackalloc float[stride * side];
        patch.Clear();
        for (int v = fromY; v < toY; v++)
        {
            Span<float> row = patch.Slice(((v - y0) * stride) + (fromX - x0), toX - fromX);
            image.CopyRow(v, fromX, row);
            sky.SubtractFrom(row, fromX, v);
        }

        double rimNoise = 0;
        if (isLocal)
        {
            rimNoise = TakeRimOff(patch[((fromY - y0) * stride)..], stride, fromX - x0, toX - x0, toY - fromY);
        }

        Sums s = default;
        for (int round = 0; round < Rounds; round++)
        {
            (double wxx, double wyy, double wxy) = AtLeast(MinWindow, Wider * cxx, Wider * cyy, Wider * cxy);
            s = Weighted(patch, side, stride, x - x0, y - y0, wxx, wyy, wxy);
            if (!(s.Flux > 0))
            {
                return null;
            }

            double mx = s.X / s.Flux, my = s.Y / s.Flux;
            double pxx = (s.Xx / s.Flux) - (mx * mx), pyy = (s.Yy / s.Flux) - (my * my), pxy = (s.Xy / s.Flux)
                - (mx * my);
            // The dark rims that sharpening leaves beside a thin trail take its width below a pixel's own.
            (pxx, pyy, pxy) = AtLeast(MinProduct, pxx, pyy, pxy);
            // C = (P^-1 - W^-1)^-1, the shape that explains the product P through the window W.
            double dp = (pxx * pyy) - (pxy * pxy), dw = (wxx * wyy) - (wxy * wxy);
            if (!(dp > 1e-9) || !(dw > 1e-9))
            {
                return null;
            }

            double ixx = (pyy / dp) - (wyy / dw), iyy = (pxx / dp) - (wxx / dw), ixy = (-pxy / dp) + (wxy / dw);
            double di = (ixx * iyy) - (ixy * ixy);
            if (!(di > 1e-9) || ixx <= 0)
            {
                return null;
            }

            double nxx = iyy / di, nyy = ixx / di, nxy = -ixy / di;
            // The product's centre lies between window and star; twice the step reaches the star when both match.
            double stepX = (1 + (1 / Wider)) * mx, stepY = (1 + (1 / Wider)) * my;
            x += stepX;
            y += stepY;
            double change = Math.Abs(nxx - cxx) + Math.Abs(nyy - cyy) + Math.Abs(nxy - cxy);
            (cxx, cyy, cxy) = (nxx, nyy, nxy);
            if (Math.Abs(x - guess.X) > radius / 2.0 || Math.Abs(y - guess.Y) > radius / 2.0
                || cxx > radius * radius / 4.0 || cyy > radius * radius / 4.0 || cxx < 0.05 || cyy < 0.05)
            {
                return null;
            }

            if (Math.Abs(stepX) + Math.Abs(stepY) < 2e-4 && change < 1e-3 * (cxx + cyy))
            {
                break;
            }
        }
        // Correlated noise counts as what it is at the scale of a star: the smoothed frame's, as if it came from white.
        int column = Math.Clamp((int)x, 0, image.Width - 1), line = Math.Clamp((int)y, 0, image.Height - 1);
        double noise = sky.SmoothedNoiseAt(column, line) / CellSample.WhiteSmoothed
            * (isLocal ? rimNoise / sky.NoiseAt(column, line) : 1);
        double snr = s.Flux / (noise * Math.Sqrt(s.Weights2));
        double apart = Math.Sqrt(Math.Pow(x - guess.X, 2) + Math.Pow(y - guess.Y, 2));
        bool blended = apart > 0.5 * Math.Sqrt(cxx + cyy);
        // A Gaussian of covariance C through a window W keeps sqrt(|W| / |C + W|) of its light.
        (double vxx, double vyy, double vxy) = AtLeast(MinWindow, Wider * cxx, Wider * cyy, Wider * cxy);
        double both = ((cxx + vxx) * (cyy + vyy)) - ((cxy + vxy) * (cxy + vxy));
        double window = (vxx * vyy) - (vxy * vxy);
        return new Star(x, y, guess.Flux, guess.Peak, snr, cxx, cyy, cxy, blended
            ? StarCautions.Blended
            : StarCautions.None)
        {
            FittedFlux = s.Flux * Math.Sqrt(Math.Max(both / window, 0)),
        };
    }

    // The median of the outermost pixels, taken off all of them; returns their scatter by the quartiles.
    private static float TakeRimOff(Span<float> patch, int stride, int first, int end, int rows)
    {
        Span<float> rim = stackalloc float[2 * (end - first + rows)];
        int n = 0;
        for (int v = 0; v < rows; v++)
        {
            int step = v == 0 || v == rows - 1 ? 1 : Math.Max(end - first - 1, 1);
            for (int u = first; u < end; u += step)
            {
                rim[n++] = patch[(v * stride) + u];
            }
        }

        rim[..n].Sort();
        float level = rim[n / 2];
        for (int v = 0; v < rows; v++)
        {
            Span<float> row = patch.Slice((v * stride) + first, end - first);
            for (int u = 0; u < row.Length; u++)
            {
                row[u] -= level;
            }
        }

        return (rim[n * 3 / 4] - rim[n / 4]) / 1.349f;
    }

    // The nearest covariance whose minor axis has at least the given variance.
    private static (double Xx, double Yy, double Xy) AtLeast(double least, double xx, double yy, double xy)
    {
        double mean = (xx + yy) / 2, half = Math.Sqrt(((xx - yy) * (xx - yy) / 4) + (xy * xy));
        double lacking = least - (mean - half);
        if (!(lacking > 0))
        {
            return (xx, yy, xy);
        }

        double angle = 0.5 * Math.Atan2(2 * xy, xx - yy);
        (double sine, double cosine) = Math.SinCos(angle);
        double both = Math.Max(least - (mean + half), 0);
        return (xx + (lacking * sine * sine) + (both * cosine * cosine),
            yy + (lacking * cosine * cosine) + (both * sine * sine), xy + ((both - lacking) * sine * cosine));
    }

    private struct Sums
    {
        public float Flux, X, Y, Xx, Yy, Xy, Weights2;
    }

    [MethodImpl(MethodImplOptions.AggressiveOptimization)]
    private static Sums Weighted(ReadOnlySpan<float> patch, int side, int stride, double x, double y, double wxx,
        double wyy, double wxy)
    {
        double det = (wxx * wyy) - (wxy * wxy);
        float a = (float)(-0.5 * wyy / det), b = (float)(wxy / det), c = (float)(-0.5 * wxx / det);
        Vector<float> flux = default, sx = default, sy = default, sxx = default, syy = default, sxy = default, ww =
            default;
        for (int v = 0; v < side; v++)
        {
            float dy = (float)(v - y);
            var vy = new Vector<float>(dy);
            for (int u = 0; u < stride; u += Vector<float>.Count)
            {
                Vector<float> dx = Vector<float>.Indices + new Vector<float>((float)(u - x));
                var w = Vector.Exp((((dx * a) + (vy * b)) * dx) + (vy * vy * c));
                Vector<float> p = w * new Vector<float>(patch.Slice((v * stride) + u));
                Vector<float> px = p * dx;
                Vector<float> py = p * vy;
                flux += p;
                sx += px;
                sy += py;
                sxx += px * dx;
                syy += py * vy;
                sxy += px * vy;
                ww += w * w;
            }
        }
        return new Sums
        {
            Flux = Vector.Sum(flux),
            X = Vector.Sum(sx),
            Y = Vector.Sum(sy),
            Xx = Vector.Sum(sxx),
            Yy = Vector.Sum(syy),
            Xy = Vector.Sum(sxy),
            Weights2 = Vector.Sum(ww),
        };
    }
}
