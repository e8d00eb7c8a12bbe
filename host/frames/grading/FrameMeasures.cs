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
    // A uniform trail of length L adds L²/12 to the variance along it.
    private const double TrailVariance = 12;
    private const double GoodSnr = 15;

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
        var good = field.Stars.Where(s => s.Cautions == StarCautions.None && s.Snr > GoodSnr).ToList();
        if (good.Count < 5)
        {
            good = field.Stars.Where(s => s.Cautions == StarCautions.None).ToList();
        }

        bool allTrails = field.Streaks.Count >= 5 && field.Streaks.Count > good.Count / 2;
        double trail, angle, elongation, width;
        if (allTrails)
        {
            trail = Median.Of(field.Streaks.Select(s => s.LengthPx));
            angle = 0.5 * Math.Atan2(field.Streaks.Sum(s => Math.Sin(2 * s.AngleRad)),
                field.Streaks.Sum(s => Math.Cos(2 * s.AngleRad)));
            width = 2.3548 * Median.Of(field.Streaks.Select(s => s.SigmaPx));
            elongation = 1 + (trail / width);
        }
        else
        {
            // The lens' own faults point in and out and cancel over the frame; what all stars share is motion.
            double q = Median.Of(good.Select(s => s.Cxx - s.Cyy)), u = Median.Of(good.Select(s => 2 * s.Cxy));
            trail = Math.Sqrt(TrailVariance * Math.Sqrt((q * q) + (u * u)));
            angle = 0.5 * Math.Atan2(u, q);
            width = Median.Of(good.Select(s => s.FwhmPx));
            elongation = Median.Of(good.Select(s => s.Elongation));
        }
        double streak = allTrails || field.Streaks.Count == 0 ? 0 : field.Streaks[0].LengthPx;
        return new FrameMeasures(info.Name, 0, 0, "", info.StartUtc, info.ExposureSeconds,
            field.StarCount + (allTrails ? field.Streaks.Count : 0),
            width, elongation, trail, angle, field.BackgroundLevel, field.BackgroundNoise, streak, field.TooMuch);
    }
}
