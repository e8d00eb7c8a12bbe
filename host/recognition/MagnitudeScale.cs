using Hourhinge.Numerics;
using Hourhinge.Sky.Stars;

namespace Hourhinge.Recognition;

/// <summary>Catalogue magnitudes that a source may have.</summary>
/// <param name="Zero">Catalogue magnitude less magnitude of a source.</param>
/// <param name="Saturated">So many of the brightest sources may be much brighter than they look: a camera saturates,
/// and its JPEG compresses what is bright.</param>
internal readonly record struct MagnitudeScale(double Zero, int Saturated)
{
    /// <summary>A star may be this much brighter than its source looks, or this much fainter: thin cloud, colour,
    /// vignetting, blends.</summary>
    public const double BrighterMag = 2, FainterMag = 1.5;

    private const double SaturatedShare = 0.15;
    private const double AnyMag = 30;

    /// <summary>The scale of matched pairs.</summary>
    public static MagnitudeScale Of(ImageStars image, List<Pair> pairs) => new(
        Median.Of(pairs.Select(p => StarCatalogue.Span[p.Star].Magnitude - image.Magnitude[p.Image])),
        Math.Max(5, (int)(SaturatedShare * image.Count)));

    /// <summary>Brightest and faintest magnitude of the star that a source may be.</summary>
    public (double Brightest, double Faintest) Range(ImageStars image, int source)
    {
        double magnitude = Zero + image.Magnitude[source];
        return (magnitude - (source < Saturated ? AnyMag : BrighterMag), magnitude + FainterMag);
    }
}
