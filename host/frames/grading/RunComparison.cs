// A run's frames beside one another before they are graded: sources that are no stars taken out, light and drift
// compared, and the elongation that all frames share found. Pure functions on FrameMeasures.
// Not here: the grades (FrameGrader).
using Hourhinge.Frames.Stars;
using Hourhinge.Numerics;

namespace Hourhinge.Frames.Grading;

/// <summary>A run compared.</summary>
/// <param name="Frames">The frames, trails counted beyond what all share.</param>
/// <param name="Motions">Light and drift of each.</param>
/// <param name="Removed">Sources taken out of each: hot pixels, landscape.</param>
/// <param name="CommonPx">Elongation that all frames share, as the length of a trail; 0 for none.</param>
/// <param name="Remarks">What there is to say of the run, as sentences.</param>
internal sealed record RunComparison(IReadOnlyList<FrameMeasures> Frames, IReadOnlyList<FrameMotion> Motions,
    IReadOnlyList<int> Removed, double CommonPx, IReadOnlyList<string> Remarks)
{
    private const int MinFrames = 3;
    private const double NoticedPx = 0.5;
    private const double SharedBy = 0.6;
    private const double AgreeShare = 0.4;
    private const double SharedError = 0.2;

    /// <summary>Compares; frames of another size or without marks are left as they are.</summary>
    /// <param name="run">The frames.</param>
    /// <param name="sky">How the sky lies on them; null where unknown.</param>
    public static RunComparison Of(IReadOnlyList<FrameMeasures> run, KnownSky? sky = null)
    {
        FrameMeasures[] frames = [.. run];
        var motions = new FrameMotion[run.Count];
        int[] removed = new int[run.Count];
        var remarks = new List<string>();
        int[] used = [.. Enumerable.Range(0, run.Count).Where(i => run[i].Error.Length == 0 && run[i].Marks.Length > 0)
            .GroupBy(i => (run[i].WidthPx, run[i].HeightPx)).MaxBy(g => g.Count()) ?? Enumerable.Empty<int>()];
        used = [.. used.OrderBy(i => run[i].StartUtc ?? DateTime.MinValue)];
        if (used.Length > 1)
        {
            StarMark[][] marks = [.. used.Select(i => StarMarks.Unpack(run[i].Marks))];
            (int width, int height) = (run[used[0]].WidthPx, run[used[0]].HeightPx);
            var split = StillSources.Of(marks, width, height);
            FrameMotion[] compared = RunMotion.Of([.. used.Select(i => run[i])], split.Sky, width, height, sky);
            LineMark[][] lines = [.. used.Select(i => StillLines.Unpack(run[i].Lines))];
            for (int k = 0; k < used.Length; k++)
            {
                (motions[used[k]], removed[used[k]]) = (compared[k], split.Removed[k]);
                frames[used[k]] = Without(run[used[k]], split.Sky[k], split.Removed[k]) with
                {
                    LongestStreakPx = StillLines.LongestMoving(lines, k, run[used[k]].LongestStreakPx),
                };
            }

            if (split.Remark.Length > 0)
            {
                remarks.Add(split.Remark);
            }
        }

        (double q, double u) = Shared(frames);
        double common = CommonShape.TrailOf(q, u), angle = 0.5 * Math.Atan2(u, q);
        if (common < NoticedPx)
        {
            return new RunComparison(frames, motions, removed, 0, remarks);
        }

        if (Drifted(frames, motions) is { } drift && IsItsTrail(drift, (q, u)))
        {
            remarks.Add($"all frames share trails of {common:0.0} px, and the stars drift across the sensor by as much "
                + $"in an exposure: {Drive(motions, sky)}.");
            return new RunComparison(frames, motions, removed, 0, remarks);
        }

        remarks.Add($"all frames share an elongation of {common:0.0} px at {angle * 180 / Math.PI:0} degrees on the "
            + "sensor: the lens, or a steady error of the tracking; these frames cannot tell which. Trails are "
            + "counted beyond it.");
        return new RunComparison([.. frames.Select(f => Beyond(f, q, u))], motions, removed, common, remarks);
    }

    // Share of the sky's own motion from which a drive stands still.
    private const double Stopped = 0.9;

    private static string Drive(FrameMotion[] motions, KnownSky? sky)
    {
        FrameMotion[] known = [.. motions.Where(m => m.DriftXPxPerSec is not null)];
        double share = sky?.ShareOf(Median.Of(known.Select(m => m.DriftXPxPerSec!.Value)),
            Median.Of(known.Select(m => m.DriftYPxPerSec!.Value))) ?? double.NaN;
        return double.IsNaN(share) ? "the drive does not follow the sky (stopped, or its rate is wrong)"
            : Math.Abs(share - 1) < 1 - Stopped
            ? $"the drive stands still ({100 * share:0} % of the sky's own motion)"
            : $"the drive does not follow the sky ({100 * share:0} % of the sky's own motion is left)";
    }

    private static FrameMeasures Without(FrameMeasures frame, List<Star> sky, int removed)
    {
        if (removed == 0 || frame.ShapeErrorPx2 <= 0)
        {
            return frame;
        }

        var good = sky.Where(s => s.Snr > 15).ToList();
        var shape = CommonShape.Of(good.Count >= FrameMeasures.FewStars ? good : sky);
        return frame with
        {
            Stars = Math.Max(frame.Stars - removed, sky.Count),
            FwhmPx = shape.FwhmPx,
            Elongation = shape.Ratio,
            TrailPx = shape.TrailPx,
            TrailAngleRad = shape.AngleRad,
            ShapeErrorPx2 = shape.ErrorPx2,
        };
    }

    // The elongation of the rounder quarter of the frames, where most of all frames have it too. Rounder ones: what a
    // lens does is in every frame, what wind does is not.
    private static (double Q, double U) Shared(FrameMeasures[] frames)
    {
        var judged = frames.Where(f => f.Error.Length == 0 && !f.TooMuch && f.Stars >= FrameMeasures.FewStars)
            .OrderBy(f => f.TrailPx).ToList();
        if (judged.Count < MinFrames)
        {
            return (0, 0);
        }

        var vectors = judged.Select(f => CommonShape.Of(f.TrailPx, f.TrailAngleRad)).ToList();
        int quarter = (judged.Count + 3) / 4;
        double q = Median.Of(vectors.Take(quarter).Select(v => v.Q));
        double u = Median.Of(vectors.Take(quarter).Select(v => v.U));
        int alike = vectors.Count(v => Near(v, (q, u)));
        return alike >= SharedBy * judged.Count ? (q, u) : (0, 0);
    }

    // The trail that the drift from frame to frame makes within an exposure.
    private static (double Q, double U)? Drifted(FrameMeasures[] frames, FrameMotion[] motions)
    {
        (double Q, double U)[] trails = [.. frames.Select((f, i) => (f.ExposureSeconds, motions[i].DriftXPxPerSec,
                motions[i].DriftYPxPerSec)).Where(m => m.ExposureSeconds > 0 && m.DriftXPxPerSec is not null)
            .Select(m => CommonShape.Of(m.ExposureSeconds!.Value * Math.Sqrt(Math.Pow(m.DriftXPxPerSec!.Value, 2)
                + Math.Pow(m.DriftYPxPerSec!.Value, 2)),
                Math.Atan2(m.DriftYPxPerSec!.Value, m.DriftXPxPerSec!.Value)))];
        return trails.Length == 0 ? null : (Median.Of(trails.Select(t => t.Q)), Median.Of(trails.Select(t => t.U)));
    }

    // Longer than the drift says by the star's own shape and a rounded exposure, and turned by a few degrees, as the
    // sky turns about the pole.
    private static bool IsItsTrail((double Q, double U) drift, (double Q, double U) seen)
    {
        double ratio = CommonShape.TrailOf(seen.Q, seen.U) / CommonShape.TrailOf(drift.Q, drift.U);
        double turn = Math.IEEERemainder(Math.Atan2(seen.U, seen.Q) - Math.Atan2(drift.U, drift.Q), 2 * Math.PI) / 2;
        return ratio is > 0.6 and < 1.6 && Math.Abs(turn) < 20 * Math.PI / 180;
    }

    private static bool Near((double Q, double U) a, (double Q, double U) b) =>
        Math.Sqrt(Math.Pow(a.Q - b.Q, 2) + Math.Pow(a.U - b.U, 2))
        <= AgreeShare * Math.Sqrt((b.Q * b.Q) + (b.U * b.U));

    private static FrameMeasures Beyond(FrameMeasures f, double q, double u)
    {
        (double ownQ, double ownU) = CommonShape.Of(f.TrailPx, f.TrailAngleRad);
        return f with
        {
            TrailPx = CommonShape.TrailOf(ownQ - q, ownU - u),
            TrailAngleRad = 0.5 * Math.Atan2(ownU - u, ownQ - q),
            // A lens's share in a frame varies with the stars in it.
            ShapeErrorPx2 = f.ShapeErrorPx2 + (SharedError * Math.Sqrt((q * q) + (u * u))),
        };
    }
}
