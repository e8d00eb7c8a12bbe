// Whether a field is accepted: Bayes factor of "these sources are catalogue stars seen through this lens" against "the
// sources have nothing to do with the catalogue".
using Hourhinge.Sky.Stars;

namespace Hourhinge.Recognition;

/// <summary>
/// Each source is, with the share p of matched sources, a catalogue star drawn with the scatter found around one of the
/// N catalogue stars of its brightness in the frame; otherwise it lies anywhere, at the density of sources around it.
/// Its factor is (1 − p) + p·g(d)/(N·u): g is the Gaussian density at the distance d, u the density of sources for one
/// source. The product is divided by the number of fields that the data could have told apart (centres, rolls, focal
/// lengths, two distortions, mirror image): so many chances a search has to fit by accident. Bayes' theorem with a flat
/// prior over these fields; the mixture is that of Jaynes (Probability Theory, 2003, chapter 21).
/// </summary>
internal static class FieldEvidence
{
    /// <summary>
    /// A field is accepted from this natural logarithm of the Bayes factor: 2·10⁻⁹ of frames without any star of the
    /// catalogue would be, if their sources lay independently. Measured: 0 of 10000 random patterns (FieldCampaign).
    /// </summary>
    public const double AcceptedLog = 20;

    /// <summary>Fewer matches are never accepted: six parameters are fitted.</summary>
    public const int MinMatches = 7;

    /// <summary>Probability from which a single match is kept.</summary>
    public const double KeptProbability = 0.9;

    private const int SimilarSources = 30;
    private const int Judged = 300;

    /// <summary>Natural logarithm of the Bayes factor.</summary>
    /// <param name="image">Sources.</param>
    /// <param name="model">Fitted field.</param>
    /// <param name="pairs">Matches, each source and each star once.</param>
    /// <param name="inFrame">Indices of the catalogue stars that the model draws in the frame, brightest first.</param>
    /// <param name="magnitudeScale">From sources to the catalogue.</param>
    /// <param name="sigmaPx">Scatter of the matches along one axis.</param>
    /// <param name="logRangeOfFocalLength">Logarithm of the largest over the smallest focal length searched.</param>
    public static double Log(ImageStars image, in CameraModel model, List<Pair> pairs, List<int> inFrame,
        MagnitudeScale magnitudeScale, double sigmaPx, double logRangeOfFocalLength)
    {
        int judged = Math.Min(image.Count, Judged);
        double sigma = Math.Max(sigmaPx, 0.5);
        double[] magnitudes = [.. inFrame.Select(s => StarCatalogue.Span[s].Magnitude)];
        int matched = pairs.Count(p => p.Image < judged);
        double share = Math.Clamp(matched / (double)judged, 0.02, 0.98);
        double log = judged * Math.Log(1 - share);
        foreach (Pair pair in pairs.Where(p => p.Image < judged))
        {
            (double brightest, double faintest) = magnitudeScale.Range(image, pair.Image);
            int candidates = Below(magnitudes, faintest) - Below(magnitudes, brightest);
            double density = image.Crowding(pair.Image) / judged * Math.Min(1, judged / (double)image.Count);
            model.TryDraw(StarCatalogue.Span[pair.Star].Direction, out double x, out double y);
            double dx = image.X[pair.Image] - x, dy = image.Y[pair.Image] - y;
            double gauss = Math.Exp(-((dx * dx) + (dy * dy)) / (2 * sigma * sigma)) / (2 * Math.PI * sigma * sigma);
            double factor = 1 - share + (share * gauss / (Math.Max(candidates, 1) * density));
            log += Math.Log(factor) - Math.Log(1 - share);
        }

        return log - LogOfFields(image, model.FocalLengthPx, sigma, logRangeOfFocalLength);
    }

    /// <summary>
    /// Keeps the matches that are real with a probability above <see cref="KeptProbability"/> by the same mixture. The
    /// share of matched sources is that among sources of similar brightness, because faint sources are more often
    /// false, and at most the share of stars found around it, because behind a cloud nothing is real.
    /// </summary>
    public static List<Pair> Likely(ImageStars image, FieldFit fit, in CameraModel model, List<Pair> pairs,
        List<int> inFrame, MagnitudeScale magnitudeScale, double sigmaPx)
    {
        double sigma = Math.Max(sigmaPx, 0.3);
        double[] magnitudes = [.. inFrame.Select(s => StarCatalogue.Span[s].Magnitude)];
        int[] before = new int[image.Count + 1];
        foreach (Pair pair in pairs)
        {
            before[pair.Image + 1] = 1;
        }

        for (int i = 0; i < image.Count; i++)
        {
            before[i + 1] += before[i];
        }

        var nearby = new FoundNearby(model, fit, inFrame, pairs);
        var kept = new List<Pair>(pairs.Count);
        foreach (Pair pair in pairs)
        {
            int from = Math.Max(0, pair.Image - SimilarSources), to =
                Math.Min(image.Count, pair.Image + SimilarSources);
            (double brightest, double faintest) = magnitudeScale.Range(image, pair.Image);
            int candidates = Below(magnitudes, faintest) - Below(magnitudes, brightest);
            double density = image.Crowding(pair.Image) / image.Count;
            model.TryDraw(fit.Direction(pair.Star), out double x, out double y);
            double dx = image.X[pair.Image] - x, dy = image.Y[pair.Image] - y, square = (dx * dx) + (dy * dy);
            double gauss = Math.Exp(-square / (2 * sigma * sigma)) / (2 * Math.PI * sigma * sigma);
            double factor = gauss / (Math.Max(candidates, 1) * density);
            // Of the sources like this one, so many matches are expected by accident.
            double matched = (before[to] - before[from]) / (double)(to - from);
            double accidents =
                Math.Min(1, candidates * Math.PI * 16 * sigma * sigma / (image.Width * (double)image.Height));
            double share = Math.Clamp((matched - accidents) / (1 - Math.Min(accidents, 0.9)), 0.01, 0.98);
            share = Math.Min(share, nearby.FoundAround(pair.Star));
            if (share * factor > KeptProbability / (1 - KeptProbability) * (1 - share))
            {
                kept.Add(pair);
            }
        }

        return kept;
    }

    // How many fields differ by more than the scatter somewhere in the frame.
    private static double LogOfFields(ImageStars image, double focalLengthPx, double sigma, double logRange)
    {
        double steps = image.HalfDiagonal / sigma;
        double centres = 4 * Math.PI * focalLengthPx * focalLengthPx / (sigma * sigma);
        double distortion = Math.Max(1, 2 * FieldFit.DistortionPrior * steps);
        return Math.Log(centres) + Math.Log(2 * Math.PI * steps) + Math.Log(Math.Max(1, logRange * steps))
            + (2 * Math.Log(distortion)) + Math.Log(2);
    }

    private static int Below(double[] sorted, double magnitude)
    {
        int low = 0, high = sorted.Length;
        while (low < high)
        {
            int middle = (low + high) / 2;
            (low, high) = sorted[middle] <= magnitude ? (middle + 1, high) : (low, middle);
        }

        return low;
    }
}
