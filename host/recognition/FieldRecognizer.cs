using Hourhinge.Recognition.Patterns;
using MathNet.Numerics.LinearAlgebra;

namespace Hourhinge.Recognition;

/// <summary>
/// Recognises which part of the sky a frame shows. Method: geometric hashing of four-star patterns (PatternIndex),
/// growth of a candidate over the frame (FieldGrowth), acceptance by a Bayes factor (FieldEvidence), robust fit
/// (FieldFit).
/// </summary>
public static class FieldRecognizer
{
    // Sources used while searching and while fitting; more make the search slower, not better.
    private const int Searched = 400;
    private const int Fitted = 1200;
    private const int Origins = 160;

    // Focal lengths over the frame's width that are searched without a hint: 12 mm on 36 mm to 400 mm on 14 mm.
    private const double Widest = 0.30, Narrowest = 29;

    // Up to here the sphere shows in the patterns, so that the focal length must be guessed within a step.
    private const double Flat = 1.25, WideStep = 1.17;

    /// <summary>Finds the field.</summary>
    /// <param name="stars">Sources of the frame, in any order; false ones are expected.</param>
    /// <param name="width">Columns of the frame.</param>
    /// <param name="height">Rows of the frame.</param>
    /// <param name="hint">What is known; null for nothing.</param>
    /// <returns>Null where no field is accepted.</returns>
    /// <exception cref="ArgumentOutOfRangeException">A size or a hint is not positive.</exception>
    public static RecognizedField? Recognize(
        IReadOnlyList<ImageStar> stars, int width, int height, FieldHint? hint = null)
    {
        ArgumentOutOfRangeException.ThrowIfNegativeOrZero(width);
        ArgumentOutOfRangeException.ThrowIfNegativeOrZero(height);
        FieldHint known = hint ?? new FieldHint();
        if (known.FocalLengthPx is { } focal && !(focal > 0 && double.IsFinite(focal)))
        {
            throw new ArgumentOutOfRangeException(nameof(hint), focal, "The focal length must be above 0 pixels.");
        }

        var searched = new ImageStars(stars, width, height, Searched);
        if (searched.Count < FieldEvidence.MinMatches)
        {
            return null;
        }

        double logRange = known.FocalLengthPx is null ? Math.Log(Narrowest / Widest)
            : Math.Max(2 * known.FocalLengthTolerance, 1e-3);
        var fit = new FieldFit(searched, known with { SeenDirection = null }, isSearch: true);
        var growth = new FieldGrowth(searched, fit);
        var search = new FieldSearch(searched, known, growth, logRange);
        return Search(search, searched, known) is { } found
            ? Refine(stars, width, height, known, found.Field, found.Log)
            : null;
    }

    private static (GrownField Field, double Log)? Search(FieldSearch search, ImageStars image, FieldHint hint)
    {
        bool[] mirrors = hint.Mirrored is { } mirrored ? [mirrored] : [false, true];
        ScaleGuess[] guesses = [.. Guesses(image, hint)];
        // Brightest sources first, in growing portions, so that an easy frame is done before the large tables are
        // built.
        int[] portions = [0, 25, 60, Origins];
        for (int range = 0; range < PatternIndex.RangeCount; range++)
        {
            for (int p = 1; p < portions.Length; p++)
            {
                foreach (ScaleGuess guess in guesses.Where(g => IsInReach(image, g, range)))
                {
                    foreach (bool mirror in mirrors)
                    {
                        for (int s = portions[p - 1]; s < Math.Min(portions[p], image.Count); s++)
                        {
                            if (search.Try(s, guess, mirror, PatternIndex.Range(range)) is { } found)
                            {
                                return found;
                            }
                        }
                    }
                }
            }
        }

        return null;
    }

    private static IEnumerable<ScaleGuess> Guesses(ImageStars image, FieldHint hint)
    {
        const float Tolerance = 0.02f;
        if (hint.FocalLengthPx is { } known)
        {
            yield return new ScaleGuess(known, 1 / (1 + hint.FocalLengthTolerance), 1 + hint.FocalLengthTolerance,
                hint.Lens is null ? Tolerance : 0.01f);
            yield break;
        }

        for (double f = Flat / WideStep; f > Widest; f /= WideStep)
        {
            yield return new ScaleGuess(f * image.Width, 1 / 1.12, 1.12, Tolerance);
        }

        const double Far = 40;
        yield return new ScaleGuess(Far * image.Width, Flat / 1.1 / Far, Narrowest / Far, Tolerance);
    }

    // Whether a frame of this scale can hold patterns of stars as bright as this range.
    private static bool IsInReach(ImageStars image, ScaleGuess guess, int range)
    {
        double longest = guess.FocalLengthPx * guess.Highest, shortest = guess.FocalLengthPx * guess.Lowest;
        double largestShare = Math.Min(1, image.Width * (double)image.Height / (4 * Math.PI * shortest * shortest));
        double smallestShare = image.Width * (double)image.Height / (4 * Math.PI * longest * longest);
        int first = range == 0 ? 0 : PatternIndex.EndOf(range - 1);
        // Four stars of the range must be expected in the frame; and the faint stars of a wide frame are not among its
        // brightest sources unless ten times as many are hidden.
        return PatternIndex.EndOf(range) * largestShare * 3 > 4
            && first * smallestShare < 12.0 * Math.Min(image.Count, Origins);
    }

    private static RecognizedField? Refine(IReadOnlyList<ImageStar> stars, int width, int height, FieldHint hint,
        GrownField found, double log)
    {
        var all = new ImageStars(stars, width, height, Fitted);
        var fit = new FieldFit(all, hint, isSearch: false);
        var growth = new FieldGrowth(all, fit);
        // The sources searched are the first ones of those fitted: both lists are sorted alike.
        CameraModel seen = fit.Quick(found.Model, found.Pairs, Math.Max(found.SigmaPx, 0.3), 6);
        GrownField? settled = growth.Settle(seen, found.Pairs);
        if (settled is null)
        {
            return null;
        }

        if (hint.Axis is null && IsPoor(all, settled))
        {
            var cropped = new FieldFit(all, hint, isSearch: false, FieldFit.CroppedAxisPrior);
            if (Recentred(all, cropped, settled) is { } better)
            {
                (settled, fit) = (better, cropped);
            }
        }

        double sigma = Math.Max(settled.SigmaPx, 0.02);
        (CameraModel model, bool[] outlier, Matrix<double> covariance, double corner) =
            fit.Final(settled.Model, settled.Pairs, sigma);
        var matches = new List<StarMatch>(settled.Pairs.Count);
        for (int i = 0; i < settled.Pairs.Count; i++)
        {
            Pair pair = settled.Pairs[i];
            if (model.TryDraw(fit.Direction(pair.Star), out double x, out double y))
            {
                matches.Add(new StarMatch(all.Source[pair.Image], pair.Star, all.X[pair.Image] - x,
                    all.Y[pair.Image] - y, !outlier[i]));
            }
        }

        FieldProjection projection = model.ToProjection(width, height);
        double rms = Math.Sqrt(matches.Where(m => m.UsedInFit).Select(m => m.ResidualPx * m.ResidualPx)
            .DefaultIfEmpty(double.NaN).Average());
        return new RecognizedField(projection, matches, rms, log, ToSky(covariance, projection, corner))
        {
            SeenDirection = hint.SeenDirection,
        };
    }

    // A frame that was cut out of a larger one has its axis far from its centre: then the matches end where the wrong
    // axis bends the field, or the axis is drawn away against all that is known of it.
    private static bool IsPoor(ImageStars image, GrownField field)
    {
        const int Brightest = 100;
        const double Matched = 0.6, Sigmas = 3, PoorPx = 0.6;
        int asked = Math.Min(Brightest, image.Count);
        double far = Math.Max(Math.Abs(field.Model.Axis.X), Math.Abs(field.Model.Axis.Y));
        return field.Pairs.Count(p => p.Image < asked) < Matched * asked || field.SigmaPx > PoorPx
            || far > Sigmas * FieldFit.AxisPrior * image.HalfDiagonal;
    }

    // The same field with its axis where the stars have it, if these are then clearly more, or clearly nearer.
    private static GrownField? Recentred(ImageStars image, FieldFit fit, GrownField start)
    {
        const int Rounds = 8;
        const double More = 1.02, Nearer = 0.9;
        var growth = new FieldGrowth(image, fit);
        GrownField best = start;
        for (int round = 0; round < Rounds; round++)
        {
            CameraModel model = fit.Quick(best.Model, best.Pairs, Math.Max(best.SigmaPx, 0.3), 30);
            if (growth.Settle(model, best.Pairs) is not { } next
                || (next.Pairs.Count < More * best.Pairs.Count && round > 1))
            {
                break;
            }

            best = next.Pairs.Count >= best.Pairs.Count || next.SigmaPx < best.SigmaPx ? next : best;
        }

        return best.Pairs.Count > More * start.Pairs.Count || best.SigmaPx < Nearer * start.SigmaPx ? best : null;
    }

    // From rotations about the camera's axes to centre and roll, from shares at the corner to K1 and K2, from tangents
    // to pixels.
    private static Matrix<double> ToSky(Matrix<double> covariance, FieldProjection field, double corner)
    {
        // Turning the sky by w about the camera's x and y moves the centre by (-wy, wx) along these axes.
        double roll = field.Roll.Radians, cos = Math.Cos(roll), sin = Math.Sin(roll);
        // Camera axes on the sky at the centre: up is (sin, cos) in east and north, right is up turned clockwise as
        // seen from the ground, (-cos, sin).
        Matrix<double> change = Matrix<double>.Build.Dense(8, covariance.RowCount);
        (double rightEast, double rightNorth, double downEast, double downNorth) = (-cos, sin, -sin, -cos);
        (change[0, 1], change[0, 0]) = (-rightEast, downEast);
        (change[1, 1], change[1, 0]) = (-rightNorth, downNorth);
        change[2, 2] = 1;
        change[3, 3] = 1;
        change[4, 4] = 1 / (corner * corner);
        change[5, 5] = 1 / (corner * corner * corner * corner);
        for (int i = 6; i < covariance.RowCount; i++)
        {
            change[i, i] = field.FocalLengthPx;
        }

        return change * covariance * change.Transpose();
    }
}
