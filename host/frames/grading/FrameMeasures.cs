// What grading measures of one frame: a handful of numbers, kept in the state file so that a second run need not
// look at the pixels again. Not here: the grades (FrameGrader), the work over a folder (GradingRun).
using Hourhinge.Frames.Reading;
using Hourhinge.Frames.Stars;
using Hourhinge.Numerics;

namespace Hourhinge.Frames.Grading;

/// <summary>One frame's numbers.</summary>
/// <param name="Name">File name.</param>
/// <param name="Bytes">File size.</param>
/// <param name="ModifiedUtcTicks">File's time of last change; with name and size the key in the state file.</param>
/// <param name="Error">Why the file could not be read; empty where it could.</param>
/// <param name="StartUtc">Start of exposure.</param>
/// <param name="ExposureSeconds">Exposure.</param>
/// <param name="Stars">Stars found.</param>
/// <param name="FwhmPx">Median full width at half maximum.</param>
/// <param name="Elongation">Median major over minor axis.</param>
/// <param name="TrailPx">Common trailing of all stars: the length of a uniform trail that gives the same second
/// moments.</param>
/// <param name="TrailAngleRad">Its direction, +x towards +y, in (-π/2, π/2].</param>
/// <param name="Background">Median background, file's units.</param>
/// <param name="Noise">Median noise of a pixel.</param>
/// <param name="LongestStreakPx">Longest streak among point-like stars; 0 for none.</param>
/// <param name="TooMuch">True where light all over made detection give up.</param>
public sealed record FrameMeasures(
    string Name, long Bytes, long ModifiedUtcTicks, string Error, DateTime? StartUtc, double? ExposureSeconds,
    int Stars, double FwhmPx, double Elongation, double TrailPx, double TrailAngleRad,
    double Background, double Noise, double LongestStreakPx, bool TooMuch)
{
    /// <summary>Stars below which no shape is judged.</summary>
    public const int FewStars = 15;

    private const double GoodSnr = 15;

    /// <summary>Standard error of the stars' common elongation, px², see <see cref="CommonShape"/>.</summary>
    public double ShapeErrorPx2 { get; init; }

    /// <summary>Columns of the frame.</summary>
    public int WidthPx { get; init; }

    /// <summary>Rows of the frame.</summary>
    public int HeightPx { get; init; }

    /// <summary>The brighter stars, packed by <see cref="StarMarks"/>.</summary>
    public string Marks { get; init; } = "";

    /// <summary>Its longer straight lines, packed by <see cref="StillLines"/>.</summary>
    public string Lines { get; init; } = "";

    /// <summary>True where the file names the zone of its time.</summary>
    public bool ZoneKnown { get; init; }

    /// <summary>What the pixels were taken from where the file holds a choice (raw files); else empty.</summary>
    public string Source { get; init; } = "";

    /// <summary>Reads and measures a file; a file that cannot be read gives a record with its refusal.</summary>
    public static FrameMeasures Of(string path, FrameOverrides overrides)
    {
        var file = new FileInfo(path);
        if (!FrameReader.TryRead(path, overrides, out Frame? frame, out string? refusal))
        {
            return new FrameMeasures(file.Name, file.Exists ? file.Length : 0, file.Exists
                ? file.LastWriteTimeUtc.Ticks : 0,
                refusal, null, null, 0, 0, 0, 0, 0, 0, 0, 0, false);
        }
        using (frame)
        {
            StarField field = StarFinder.Find(frame.Image, new FinderOptions(MaxStars: 1000));
            return Of(field, frame.Info) with { Bytes = file.Length, ModifiedUtcTicks = file.LastWriteTimeUtc.Ticks };
        }
    }

    /// <summary>Condenses a frame's stars.</summary>
    public static FrameMeasures Of(StarField field, FrameInfo info)
    {
        List<Star> good = Good(field);
        bool allTrails = AreTrails(field, good.Count);
        var shape = CommonShape.Of(good);
        (double trail, double angle, double width) = (shape.TrailPx, shape.AngleRad, shape.FwhmPx);
        double elongation = shape.Ratio;
        if (allTrails)
        {
            trail = Median.Of(field.Streaks.Select(s => s.LengthPx));
            angle = StreakAngle(field).Angle;
            width = 2.3548 * Median.Of(field.Streaks.Select(s => s.SigmaPx));
            elongation = 1 + (trail / width);
        }

        double streak = allTrails ? 0 : LongestLine(field, width);
        return new FrameMeasures(info.Name, 0, 0, "", info.StartUtc, info.ExposureSeconds,
            field.StarCount + (allTrails ? field.Streaks.Count : 0),
            width, elongation, trail, angle, field.BackgroundLevel, field.BackgroundNoise, streak, field.TooMuch)
        {
            ZoneKnown = info.ZoneKnown,
            Source = info.PixelsFrom,
            ShapeErrorPx2 = allTrails ? 0 : shape.ErrorPx2,
            WidthPx = field.Width,
            HeightPx = field.Height,
            Lines = allTrails ? "" : StillLines.Pack(field.Streaks),
            Marks = StarMarks.Pack(field.Stars.Where(s => !s.Cautions.HasFlag(StarCautions.Saturated))),
        };
    }

    // Clean and bright stars; then clean ones; then all.
    private static List<Star> Good(StarField field)
    {
        var clean = field.Stars.Where(s => s.Cautions == StarCautions.None).ToList();
        var good = clean.Where(s => s.Snr > GoodSnr).ToList();
        return good.Count >= FewStars ? good : clean.Count >= FewStars ? clean : [.. field.Stars];
    }

    // Trails of stars are many, point one way and are of one length; blends of a rich field and edges of a building are
    // not.
    private static bool AreTrails(StarField field, int stars)
    {
        if (field.Streaks.Count < 5 || field.Streaks.Count <= stars / 2)
        {
            return false;
        }

        double length = Median.Of(field.Streaks.Select(s => s.LengthPx));
        double spread = Median.Of(field.Streaks.Select(s => Math.Abs(s.LengthPx - length)));
        return StreakAngle(field).Agreement > 0.8 && spread < 0.3 * length;
    }

    // Mean direction of the streaks, and how far they agree: 1 for parallel, 0 for random.
    private static (double Angle, double Agreement) StreakAngle(StarField field)
    {
        double sine = field.Streaks.Sum(s => Math.Sin(2 * s.AngleRad));
        double cosine = field.Streaks.Sum(s => Math.Cos(2 * s.AngleRad));
        return (0.5 * Math.Atan2(sine, cosine),
            Math.Sqrt((sine * sine) + (cosine * cosine)) / Math.Max(field.Streaks.Count, 1));
    }

    // The longest line about as thin as a star: most edges of walls and hills are not.
    private static double LongestLine(StarField field, double widthPx) =>
        field.Streaks.Where(s => widthPx <= 0 || 2.3548 * s.SigmaPx < 2.5 * widthPx).Select(s => s.LengthPx)
            .DefaultIfEmpty(0).Max();
}
