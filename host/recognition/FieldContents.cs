// What a recognised field holds: stars that should be seen and are not, named stars, deep-sky objects.
using Hourhinge.Sky.Planning;
using Hourhinge.Sky.Stars;

namespace Hourhinge.Recognition;

/// <summary>A catalogue star in a frame.</summary>
/// <param name="CatalogueIndex">Index in <see cref="StarCatalogue.Stars"/>.</param>
/// <param name="Place">Where it is drawn.</param>
/// <param name="IsFound">Whether a source of the frame is this star.</param>
public readonly record struct ExpectedStar(int CatalogueIndex, FramePoint Place, bool IsFound);

/// <summary>A named thing in a frame.</summary>
/// <param name="Name">Name or designation.</param>
/// <param name="Kind">"star", or the kind of the deep-sky table.</param>
/// <param name="Magnitude">Magnitude; null where there is none.</param>
/// <param name="Place">Where its centre is drawn.</param>
/// <param name="RadiusPx">Half of its long diameter; 0 for stars.</param>
public readonly record struct FieldObject(
    string Name, string Kind, double? Magnitude, FramePoint Place, double RadiusPx);

/// <summary>The contents of a recognised field.</summary>
public sealed class FieldContents
{
    /// <summary>Rows and columns of parts in which missing stars are counted.</summary>
    public const int PartsAcross = 6, PartsDown = 4;

    private const int MinPerPart = 3;
    private const double BlendPx = 6;

    private FieldContents(double limit, IReadOnlyList<ExpectedStar> expected, IReadOnlyList<FieldObject> objects)
    {
        (LimitMagnitude, Expected, Objects) = (limit, expected, objects);
    }

    /// <summary>Stars to this magnitude are expected: 0.5 brighter than nine tenths of the stars found.</summary>
    public double LimitMagnitude { get; }

    /// <summary>Expected stars, brightest first, without those whose image a brighter star covers.</summary>
    public IReadOnlyList<ExpectedStar> Expected { get; }

    /// <summary>Named stars and deep-sky objects, stars first, each brightest first.</summary>
    public IReadOnlyList<FieldObject> Objects { get; }

    /// <summary>Share of the expected stars that are not found, 0 to 1; NaN where none is expected.</summary>
    public double MissingShare => Share(Expected);

    /// <summary>The same for each part of the frame, row by row from the upper left; NaN where fewer than three stars
    /// are expected.</summary>
    public IReadOnlyList<double> MissingByPart { get; private init; } = [];

    /// <summary>Looks up what is in a field.</summary>
    /// <param name="field">The field.</param>
    public static FieldContents Of(RecognizedField field)
    {
        FieldProjection frame = field.Projection;
        HashSet<int> found = [.. field.Matches.Select(m => m.CatalogueIndex)];
        double[] magnitudes = [.. field.Matches.Select(m => StarCatalogue.Stars[m.CatalogueIndex].Magnitude).Order()];
        double limit = magnitudes[(int)(0.9 * (magnitudes.Length - 1))] - 0.5;
        var expected = new List<ExpectedStar>();
        var drawn = new List<FramePoint>();
        int end = StarCatalogue.CountTo(limit);
        for (int i = 0; i < end; i++)
        {
            if (frame.ToPixel(StarCatalogue.Stars[i].Direction) is not { } place || !frame.Contains(place))
            {
                continue;
            }

            bool covered = drawn.Any(d => Math.Abs(d.X - place.X) < BlendPx && Math.Abs(d.Y - place.Y) < BlendPx);
            drawn.Add(place);
            if (!covered)
            {
                expected.Add(new ExpectedStar(i, place, found.Contains(i)));
            }
        }

        return new FieldContents(limit, expected, [.. NamedStars(frame), .. DeepSky(frame, limit)])
        {
            MissingByPart = [.. Enumerable.Range(0, PartsAcross * PartsDown).Select(part =>
            {
                ExpectedStar[] own = [.. expected.Where(s => Part(frame, s.Place) == part)];
                return own.Length >= MinPerPart ? Share(own) : double.NaN;
            })],
        };
    }

    private static double Share(IReadOnlyCollection<ExpectedStar> stars) =>
        stars.Count == 0 ? double.NaN : stars.Count(s => !s.IsFound) / (double)stars.Count;

    private static int Part(FieldProjection frame, FramePoint p)
    {
        int across = Math.Clamp((int)((p.X + 0.5) * PartsAcross / frame.Width), 0, PartsAcross - 1);
        int down = Math.Clamp((int)((p.Y + 0.5) * PartsDown / frame.Height), 0, PartsDown - 1);
        return (down * PartsAcross) + across;
    }

    private static IEnumerable<FieldObject> NamedStars(FieldProjection frame)
    {
        foreach (BrightStar star in Catalogue.Stars.Where(s => s.Name.Length > 0))
        {
            if (frame.ToPixel(star.Place.J2000.ToVector()) is { } place && frame.Contains(place))
            {
                yield return new FieldObject(star.Name, "star", star.Magnitude, place, 0);
            }
        }
    }

    // Objects with a name, Messier objects, and others that are bright or large for this frame.
    private static IEnumerable<FieldObject> DeepSky(FieldProjection frame, double limit) =>
        from o in Catalogue.DeepSky
        where frame.ToPixel(o.J2000.ToVector()) is { } at && frame.Contains(at)
        let radius = o.MajorAxis.Radians / 2 * frame.FocalLengthPx
        let isKnown = o.Name.Length > 0 || (o.Id[0] == 'M' && char.IsAsciiDigit(o.Id[1]))
        where isKnown ? radius > 1 : (radius > 12 && o.Magnitude < limit + 2)
        orderby isKnown descending, o.Magnitude ?? 99
        select new FieldObject(o.Name.Length > 0 ? $"{o.Id} {o.Name}" : o.Id, o.Kind, o.Magnitude,
            frame.ToPixel(o.J2000.ToVector())!.Value, radius);
}
