// From four matched stars to the whole frame: matches are added outwards, the model is fitted again each time.
using System.Runtime.CompilerServices;
using Hourhinge.Numerics;
using Hourhinge.Recognition.Patterns;
using Hourhinge.Sky.Stars;

namespace Hourhinge.Recognition;

/// <summary>A grown field: model, matches, and what is needed to judge it.</summary>
internal sealed record GrownField(
    CameraModel Model, List<Pair> Pairs, List<int> InFrame, MagnitudeScale Magnitudes, double SigmaPx);

/// <summary>Grows candidate fields of one frame.</summary>
internal sealed class FieldGrowth(ImageStars image, FieldFit fit)
{
    /// <summary>Sources that are asked while a field grows.</summary>
    private const int Asked = 250;
    private const double MaxTolerancePx = 40;

    /// <summary>Adds matches until the whole frame is covered.</summary>
    /// <returns>Null where the sources do not go on fitting.</returns>
    public GrownField? Grow(CameraModel start, List<Pair> first)
    {
        List<Pair> pairs = first;
        CameraModel model = fit.Quick(start, pairs, 1.5, 2);
        double reach = 0, farthest = 2 * image.HalfDiagonal;
        for (int round = 0; round < 14 && reach < farthest; round++)
        {
            (double x, double y, double extent) = Extent(pairs);
            reach = (1.7 * extent) + 30;
            List<Pair>? more = Match(model, pairs, x, y, extent, reach);
            if (more is null)
            {
                return null;
            }

            // Nothing more within reach: the visible part ends here, or the next stars are far.
            farthest = FarthestSource(x, y);
            pairs = more;
            model = fit.Quick(model, pairs, round < 2 ? 2 : 1.5, 3);
        }

        return Settle(model, pairs);
    }

    /// <summary>Matches everywhere with the model as it is, refitted until it does not change.</summary>
    public GrownField? Settle(CameraModel start, List<Pair> from)
    {
        CameraModel model = start;
        List<Pair> pairs = from;
        List<int> inFrame = [];
        MagnitudeScale magnitudes = MagnitudeScale.Of(image, pairs);
        double sigma = 2;
        foreach (double tolerance in (double[])[12, 6, 4, 0])
        {
            inFrame = InFrame(model, magnitudes);
            List<Pair> next =
                MatchAll(model, inFrame, magnitudes, tolerance > 0 ? tolerance : Math.Clamp(4 * sigma, 2, 12));
            if (next.Count < FieldEvidence.MinMatches)
            {
                return null;
            }

            if (tolerance < 12)
            {
                next = FieldEvidence.Likely(image, fit, model, next, inFrame, magnitudes, sigma);
            }

            if (next.Count < FieldEvidence.MinMatches)
            {
                return null;
            }

            pairs = next;
            model = fit.Quick(model, pairs, Math.Max(sigma, 0.3), 3);
            sigma = Scatter(model, pairs);
            magnitudes = MagnitudeScale.Of(image, pairs);
        }

        return new GrownField(model, pairs, inFrame, magnitudes, sigma);
    }

    /// <summary>Catalogue stars that a model draws in the frame, brightest first, down to one magnitude below the
    /// faintest source.</summary>
    [MethodImpl(MethodImplOptions.AggressiveOptimization)]
    public List<int> InFrame(in CameraModel model, MagnitudeScale magnitudes)
    {
        var found = new List<int>();
        int limit = StarCatalogue.CountTo(image.Magnitude[^1] + magnitudes.Zero + 1);
        double halfWidth = image.Width / 2.0, halfHeight = image.Height / 2.0;
        double depth = 0.9 / Math.Sqrt(1 + Math.Pow(image.HalfDiagonal / model.FocalLengthPx, 2));
        Vector3 centre = model.ToCamera.Row3;
        // Near the centre of a small field, 0.9 of the cosine would let in half the sky.
        depth = Math.Max(depth, Math.Cos((1.2 * Math.Atan(image.HalfDiagonal / model.FocalLengthPx)) + 0.01));
        for (int star = 0; star < limit; star++)
        {
            if (StarCatalogue.Span[star].Direction.Dot(centre) > depth
                && model.TryDraw(fit.Direction(star), out double x, out double y)
                && Math.Abs(x) <= halfWidth && Math.Abs(y) <= halfHeight)
            {
                found.Add(star);
            }
        }

        return found;
    }

    /// <summary>Matches each catalogue star with the nearest source of its brightness; each source once.</summary>
    [MethodImpl(MethodImplOptions.AggressiveOptimization)]
    public List<Pair> MatchAll(in CameraModel model, List<int> inFrame, MagnitudeScale magnitudes,
        double tolerancePx)
    {
        var best = new Dictionary<int, (int Star, double Square)>();
        (double Brightest, double Faintest)[] ranges =
            [.. Enumerable.Range(0, image.Count).Select(i => magnitudes.Range(image, i))];
        foreach (int star in inFrame)
        {
            model.TryDraw(fit.Direction(star), out double x, out double y);
            double magnitude = StarCatalogue.Span[star].Magnitude, least = tolerancePx * tolerancePx;
            int nearest = -1;
            foreach (int i in image.Strip(x, tolerancePx))
            {
                double dx = image.X[i] - x, dy = image.Y[i] - y, square = (dx * dx) + (dy * dy);
                if (square < least && ranges[i].Faintest >= magnitude && ranges[i].Brightest <= magnitude)
                {
                    (nearest, least) = (i, square);
                }
            }

            if (nearest >= 0 && (!best.TryGetValue(nearest, out (int Star, double Square) other)
                || least < other.Square))
            {
                best[nearest] = (star, least);
            }
        }

        return [.. best.OrderBy(b => b.Key).Select(b => new Pair(b.Key, b.Value.Star))];
    }

    /// <summary>Scatter along one axis: median distance over that of a Rayleigh distribution of unit scatter.</summary>
    [MethodImpl(MethodImplOptions.AggressiveOptimization)]
    public double Scatter(in CameraModel model, List<Pair> pairs)
    {
        double[] distances = new double[pairs.Count];
        for (int i = 0; i < pairs.Count; i++)
        {
            model.TryDraw(fit.Direction(pairs[i].Star), out double x, out double y);
            double dx = image.X[pairs[i].Image] - x, dy = image.Y[pairs[i].Image] - y;
            distances[i] = Math.Sqrt((dx * dx) + (dy * dy));
        }

        // Six parameters take their share of the scatter.
        return Median.InPlace<double>(distances) / 1.1774
            * Math.Sqrt(2.0 * pairs.Count / Math.Max(1, (2 * pairs.Count) - 6));
    }

    // The mean place of the matched sources and the distance of the farthest one from it.
    private (double X, double Y, double Extent) Extent(List<Pair> pairs)
    {
        double x = pairs.Average(p => image.X[p.Image]), y = pairs.Average(p => image.Y[p.Image]);
        return (x, y, pairs.Max(p => Distance(p.Image, x, y)));
    }

    private double FarthestSource(double x, double y)
    {
        double farthest = 0;
        for (int i = 0; i < Math.Min(Asked, image.Count); i++)
        {
            farthest = Math.Max(farthest, Distance(i, x, y));
        }

        return farthest;
    }

    private double Distance(int star, double x, double y) =>
        Math.Sqrt(Math.Pow(image.X[star] - x, 2) + Math.Pow(image.Y[star] - y, 2));

    private List<Pair>? Match(
        in CameraModel model, List<Pair> before, double x, double y, double extent, double reach)
    {
        MagnitudeScale magnitudes = MagnitudeScale.Of(image, before);
        double expected = 0;
        Rotation toSky = model.ToCamera.Inverse();
        var found = new Dictionary<int, (int Image, double Square)>();
        int asked = 0;
        for (int i = 0; i < Math.Min(Asked, image.Count); i++)
        {
            double distance = Distance(i, x, y);
            if (distance > reach)
            {
                continue;
            }

            asked++;
            double tolerance = Math.Min(2 + (0.01 * distance) + (0.03 * Math.Max(0, distance - extent)),
                MaxTolerancePx);
            Vector3 camera = image.Direction(i, model.FocalLengthPx, model.Lens, model.Mirrored, model.Axis);
            double chord = tolerance / model.FocalLengthPx * camera.Z;
            (double brightest, double faintest) = magnitudes.Range(image, i);
            int from = StarCatalogue.CountTo(brightest), limit = StarCatalogue.CountTo(faintest);
            expected += Math.Min(1, (limit - from) * chord * chord / 4);
            int star = StarGrid.All.Nearest(toSky.Apply(camera), chord, from, limit, out double square);
            if (star >= 0 && (!found.TryGetValue(star, out (int Image, double Square) other) || square < other.Square))
            {
                found[star] = (i, square);
            }
        }

        // A field that goes on by chance alone is given up.
        return found.Count < Math.Max(4, (1.5 * expected) + 2) || (asked >= 12 && found.Count < 0.08 * asked)
            ? null
            : [.. found.OrderBy(f => f.Value.Image).Select(f => new Pair(f.Value.Image, f.Key))];
    }
}
