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
    private const double Complete = 0.85;

    private FieldContents(double limit, IReadOnlyList<ExpectedStar> expected, IReadOnlyList<FieldObject> objects)
    {
        (LimitMagnitude, Expected, Objects) = (limit, expected, objects);
    }

    /// <summary>Stars to this magnitude are expected: in the clearest quarter of the frame, 85 % of them are
    /// found.</summary>
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
        List<ExpectedStar> all = Drawn(field, found, magnitudes[^1]);
        double limit = magnitudes[^1];
        double[] byPart = ByPart(frame, all);
        while (limit > magnitudes[magnitudes.Length / 10] && Clearest(frame, all) > 1 - Complete)
        {
            limit -= 0.1;
            all = [.. all.Where(s => StarCatalogue.Stars[s.CatalogueIndex].Magnitude <= limit)];
            byPart = ByPart(frame, all);
        }

        return new FieldContents(limit, all, [.. NamedStars(field), .. DeepSky(field, limit)])
        {
            MissingByPart = byPart,
        };
    }

    private static List<ExpectedStar> Drawn(RecognizedField field, HashSet<int> found, double limit)
    {
        var expected = new List<ExpectedStar>();
        // Cells of the size of a blend: a star is covered by a brighter one in its own or a neighbouring cell.
        var taken = new HashSet<(int, int)>();
        int end = StarCatalogue.CountTo(limit);
        for (int i = 0; i < end; i++)
        {
            if (field.ToPixel(StarCatalogue.Stars[i].Direction) is not { } place || !field.Projection.Contains(place))
            {
                continue;
            }

            (int x, int y) = ((int)(place.X / BlendPx), (int)(place.Y / BlendPx));
            bool covered = false;
            for (int k = 0; k < 9; k++)
            {
                covered |= taken.Contains((x + (k % 3) - 1, y + (k / 3) - 1));
            }

            taken.Add((x, y));
            if (!covered)
            {
                expected.Add(new ExpectedStar(i, place, found.Contains(i)));
            }
        }

        return expected;
    }

    private static double[] ByPart(FieldProjection frame, IEnumerable<ExpectedStar> stars)
    {
        ILookup<int, ExpectedStar> parts = stars.ToLookup(s => Part(frame, s.Place));
        return [.. Enumerable.Range(0, PartsAcross * PartsDown).Select(part =>
            parts[part].Count() >= MinPerPart ? Share([.. parts[part]]) : double.NaN)];
    }

    // Share of stars missing in the quarter of the parts where fewest are missing; of all parts where few are judged.
    private static double Clearest(FieldProjection frame, IReadOnlyList<ExpectedStar> stars)
    {
        double[] byPart = ByPart(frame, stars);
        int[] best = [.. Enumerable.Range(0, byPart.Length).Where(i => !double.IsNaN(byPart[i]))
            .OrderBy(i => byPart[i]).Take(byPart.Length / 4)];
        return best.Length == 0 ? Share(stars)
            : Share([.. stars.Where(s => best.Contains(Part(frame, s.Place)))]);
    }

    private static double Share(IReadOnlyCollection<ExpectedStar> stars) =>
        stars.Count == 0 ? double.NaN : stars.Count(s => !s.IsFound) / (double)stars.Count;

    private static int Part(FieldProjection frame, FramePoint p)
    {
        int across = Math.Clamp((int)((p.X + 0.5) * PartsAcross / frame.Width), 0, PartsAcross - 1);
        int down = Math.Clamp((int)((p.Y + 0.5) * PartsDown / frame.Height), 0, PartsDown - 1);
        return (down * PartsAcross) + across;
    }

    private static IEnumerable<FieldObject> NamedStars(RecognizedField field)
    {
        foreach (BrightStar star in Catalogue.Stars.Where(s => s.Name.Length > 0))
        {
            if (field.ToPixel(star.Place.J2000.ToVector()) is { } place && field.Projection.Contains(place))
            {
                yield return new FieldObject(star.Name, "star", star.Magnitude, place, 0);
            }
        }
    }

    // Objects with a name, Messier objects, and others that are bright or large for this frame.
    private static IEnumerable<FieldObject> DeepSky(RecognizedField field, double limit) =>
        from o in Catalogue.DeepSky
        where field.ToPixel(o.J2000.ToVector()) is { } at && field.Projection.Contains(at)
        let radius = o.MajorAxis.Radians / 2 * field.Projection.FocalLengthPx
        let isKnown = o.Name.Length > 0 || (o.Id[0] == 'M' && char.IsAsciiDigit(o.Id[1]))
        where isKnown ? radius > 1 : (radius > 12 && o.Magnitude < limit + 2)
        orderby isKnown descending, o.Magnitude ?? 99
        select new FieldObject(o.Name.Length > 0 ? $"{o.Id} {o.Name}" : o.Id, o.Kind, o.Magnitude,
            field.ToPixel(o.J2000.ToVector())!.Value, radius);
}
