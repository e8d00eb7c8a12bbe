// From pixels to stars and streaks: classifies connected components as star, streak, hot pixel or artefact, and
// measures the brightest stars. This is the entry point; the parts are Background, SourceScan, Deblending,
// CountThreshold, StarMeasure, StreakMeasure.
using Hourhinge.Frames.Reading;
using Hourhinge.Numerics;

namespace Hourhinge.Frames.Stars;

/// <summary>First measurement of a component: flux-weighted moments of its pixels above the threshold.</summary>
internal readonly record struct SourceShape(
    double X, double Y, double Flux, double Peak, double Cxx, double Cyy, double Cxy, int Pixels, float RawPeak,
        bool Hot, bool AtEdge, double Significance, bool Blended = false)
{
    public (double Major, double Minor) Axes()
    {
        double mean = (Cxx + Cyy) / 2, half = Math.Sqrt(Math.Pow((Cxx - Cyy) / 2, 2) + (Cxy * Cxy));
        return (Math.Sqrt(mean + half), Math.Sqrt(Math.Max(mean - half, 1e-3)));
    }
}

/// <summary>Finds and measures stars and streaks.</summary>
public static class StarFinder
{
    // Uniform light over a length has this many standard deviations end to end (square root of 12).
    private const double LengthPerSigma = 3.4641;
    private const double StreakElongation = 2.5;
    private const int MaxStreaks = 3000;

    // Sources that are believed without a window, see AsFound.
    private const double ClearSigma = 12;
    private const double ClearMajorPx = 2.5;
    private const double ClearMinorPx = 1.5;

    // Sources that are believed in the glow of a cloud, see InGlow.
    private const double GlowSigma = 7.5;
    private const double MaxGlowPx = 3.7, CompactPx = 1.2;

    // A source with less than this of the common width, or of the common variance along the common elongation, is none.
    // A clear one may be shorter, because trails are shorter near the pole.
    private const double MinWidth = 0.6;
    private const double MinVariance = MinWidth * MinWidth, MinClearVariance = 0.25;

    // A trail is hardly wider than a star; a wider streak is a cloud, and stars in it part from it as elsewhere.
    private const double MaxTrailMinorPx = 2;

    /// <summary>Finds the stars and streaks of a frame. Deterministic; uses the calling thread only.</summary>
    /// <param name="image">The frame, any level and gain.</param>
    /// <param name="options">Thresholds and limits; null for the defaults.</param>
    public static StarField Find(FrameImage image, FinderOptions? options = null)
    {
        options ??= new FinderOptions();
        var sky = Background.Of(image);
        var scan = SourceScan.Of(image, sky, options.ThresholdSigma);
        if (scan.TooMuch)
        {
            return new StarField(image.Width, image.Height, Array.Empty<Star>(), 0, Array.Empty<Streak>(),
                sky.MedianLevel, sky.MedianNoise, 0, true);
        }

        var parts = new Deblending(image, sky);
        var stars = new List<SourceShape>();
        var streaks = new List<(SourceShape Shape, List<PixelRun> Runs)>();
        int hot = 0;
        foreach (List<PixelRun> component in scan.Components(options.MinPixels))
        {
            SourceShape entire = Look(image, sky, parts, component);
            bool trail = IsStreak(entire, options);
            List<List<PixelRun>> sources =
                parts.Split(component, trail && entire.Axes().Minor < MaxTrailMinorPx
                    ? Deblending.TrailShare : Deblending.StarShare);
            foreach (List<PixelRun> runs in sources)
            {
                SourceShape shape = sources.Count == 1 ? entire : Look(image, sky, parts, runs) with { Blended = true };
                (double _, double minor) = shape.Axes();
                if (shape.Hot)
                {
                    hot++;
                }
                else if (IsStreak(shape, options))
                {
                    streaks.Add((shape, runs));
                }
                else if (!shape.AtEdge && minor < 20 && shape.Flux > 0 && shape.Pixels >= options.MinPixels)
                {
                    stars.Add(shape);
                }
            }
        }
        double threshold = CountThreshold.Of(stars.Select(s => s.Significance), options.ThresholdSigma);
        stars.RemoveAll(s => s.Significance < threshold);
        stars.Sort((a, b) => a.Flux != b.Flux ? b.Flux.CompareTo(a.Flux) : a.Y != b.Y
            ? a.Y.CompareTo(b.Y)
            : a.X.CompareTo(b.X));
        float top = SaturationLevel(stars, image.FullScale);

        var measured = new List<Star>(Math.Min(stars.Count, options.MaxStars));
        foreach (SourceShape shape in stars.Take(options.MaxStars))
        {
            if ((StarMeasure.Measure(image, sky, shape) ?? AsFound(shape, ClearSigma, ClearMajorPx)
                ?? InGlow(image, sky, shape)) is { } star)
            {
                measured.Add(star with
                {
                    Significance = shape.Significance,
                    Cautions = star.Cautions | (shape.RawPeak >= top ? StarCautions.Saturated : StarCautions.None)
                        | (shape.Blended ? StarCautions.Blended : StarCautions.None),
                });
            }
        }
        int sharp = DropSharp(measured);
        var trails = streaks.OrderByDescending(s => s.Shape.Axes().Major).Take(MaxStreaks)
            .Select(s => StreakMeasure.Measure(image, sky, s.Runs, s.Shape)).OfType<Streak>()
            .OrderByDescending(s => s.LengthPx).ToList();
        // Of those not measured, as many are stars as of the others.
        int tried = Math.Min(stars.Count, options.MaxStars);
        int count = tried == 0 ? 0 : (int)((long)stars.Count * measured.Count / tried);
        return new StarField(image.Width, image.Height, measured, count, trails,
            sky.MedianLevel, sky.MedianNoise, hot + sharp, false);
    }

    // A clear source whose window does not settle, between neighbours or sharpened rims: where its pixels above the
    // threshold put it.
    private static Star? AsFound(in SourceShape shape, double leastSigma, double maxMajorPx)
    {
        (double major, double minor) = shape.Axes();
        return shape.Significance < leastSigma || major > maxMajorPx || minor > ClearMinorPx
            ? null
            : new Star(shape.X, shape.Y, shape.Flux, shape.Peak, shape.Significance, shape.Cxx, shape.Cyy, shape.Cxy,
                StarCautions.Blended);
    }

    // A source on a cloud; structure of the cloud itself, or of a lit wall, passes for a star more easily.
    private static Star? InGlow(FrameImage image, Background sky, in SourceShape shape) =>
        shape.Significance < (shape.Blended ? ClearSigma : GlowSigma) ? null
            : StarMeasure.MeasureInGlow(image, sky, shape) is { } star
            && star.Cxx + star.Cyy < MaxGlowPx * MaxGlowPx ? star : AsFound(shape, GlowSigma, CompactPx);

    private static bool IsStreak(in SourceShape shape, FinderOptions options)
    {
        (double major, double minor) = shape.Axes();
        return major / minor > StreakElongation && major * LengthPerSigma > options.MinStreakPx;
    }

    private static SourceShape Look(FrameImage image, Background sky, Deblending parts, List<PixelRun> runs)
    {
        double sum = 0, sx = 0, sy = 0, sxx = 0, syy = 0, sxy = 0;
        float peak = float.NegativeInfinity;
        int peakX = 0, peakY = 0, pixels = 0;
        bool edge = false;
        int x0 = runs[0].First, y0 = runs[0].Y;
        foreach (PixelRun run in runs)
        {
            edge |= run.First == 0 || run.Last == image.Width - 1 || run.Y == 0 || run.Y == image.Height - 1;
            pixels += run.Last - run.First + 1;
            ReadOnlySpan<float> above = parts.Above(run);
            for (int x = run.First; x <= run.Last; x++)
            {
                float p = above[x - run.First];
                if (p > peak)
                {
                    (peak, peakX, peakY) = (p, x, run.Y);
                }

                double w = Math.Max(p, 0), dx = x - x0, dy = run.Y - y0;
                sum += w;
                sx += w * dx;
                sy += w * dy;
                sxx += w * dx * dx;
                syy += w * dy * dy;
                sxy += w * dx * dy;
            }
        }
        if (sum <= 0)
        {
            return new SourceShape(x0, y0, 0, 0, 1, 1, 0, pixels, 0, true, edge, 0);
        }

        double mx = sx / sum, my = sy / sum;
        return new SourceShape(x0 + mx, y0 + my, sum, peak, Math.Max((sxx / sum) - (mx * mx), 0) + (1 / 12.0),
            Math.Max((syy / sum) - (my * my), 0) + (1 / 12.0), (sxy / sum) - (mx * my), pixels, image[peakX, peakY],
            IsHot(image, sky, peakX, peakY, peak), edge,
            parts.Smoothed(peakX, peakY) / sky.SmoothedNoiseAt(peakX, peakY));
    }

    // Through any lens the four neighbours of a star's brightest pixel share its light (at a full width of 1.5 pixels a
    // third of it each, even when the star sits square on one pixel); those of a hot pixel do not. A thin slanting
    // trail that a camera has sharpened has dark pixels beside it and a bright one at a corner.
    private static bool IsHot(FrameImage image, Background sky, int x, int y, float peak)
    {
        double around = 0;
        int n = 0;
        foreach ((int dx, int dy) in _cross)
        {
            int u = x + dx, v = y + dy;
            if (u < 0 || v < 0 || u >= image.Width || v >= image.Height)
            {
                continue;
            }

            around += image[u, v] - sky.At(u, v);
            n++;
        }
        float noise = sky.NoiseAt(x, y);
        return around / n < (0.15 * peak) - noise && !IsBright(-1, -1) && !IsBright(1, -1) && !IsBright(-1, 1)
            && !IsBright(1, 1);

        bool IsBright(int dx, int dy)
        {
            int u = x + dx, v = y + dy;
            return u >= 0 && v >= 0 && u < image.Width && v < image.Height
                && image[u, v] - sky.At(u, v) > Math.Max(0.4f * peak, 5 * noise);
        }
    }

    private static readonly (int X, int Y)[] _cross = { (-1, 0), (1, 0), (0, -1), (0, 1) };

    // 12- or 14-bit data in a 16-bit file saturates below the file's limit: several stars sharing the frame's highest
    // peak to the last digit tell.
    private static float SaturationLevel(List<SourceShape> stars, float fullScale)
    {
        float top = stars.Count > 0 ? stars.Max(s => s.RawPeak) : fullScale;
        int sharing = stars.Count(s => s.RawPeak >= top * 0.9995f);
        return sharing >= 3 || top >= fullScale ? top * 0.9995f : fullScale;
    }

    // Clusters of hot pixels and cosmic rays pass the first test but stay much sharper than the frame's stars, or, if
    // all stars are short trails, much shorter.
    private static int DropSharp(List<Star> stars)
    {
        if (stars.Count < 10)
        {
            return 0;
        }

        double least = MinWidth * Median.Of(stars.Select(s => s.FwhmPx));
        double xx = Median.Of(stars.Select(s => s.Cxx)), yy = Median.Of(stars.Select(s => s.Cyy));
        double angle = 0.5 * Math.Atan2(2 * Median.Of(stars.Select(s => s.Cxy)), xx - yy);
        (double sine, double cosine) = Math.SinCos(angle);
        double Along(Star s) =>
            (s.Cxx * cosine * cosine) + (s.Cyy * sine * sine) + (2 * s.Cxy * sine * cosine);
        double usual = Median.Of(stars.Select(Along));
        return stars.RemoveAll(s => s.FwhmPx < least
            || Along(s) < (s.Significance < ClearSigma ? MinVariance : MinClearVariance) * usual);
    }
}
