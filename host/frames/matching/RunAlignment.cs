// A run of frames put in order of time and laid over one reference frame, with everything unusable named: clouds,
// aircraft trails, a bump of the tripod, another lens, another night, no match. Works on star lists; files are read
// elsewhere.
using Hourhinge.Frames.Reading;
using Hourhinge.Frames.Stars;
using Hourhinge.Numerics;

namespace Hourhinge.Frames.Matching;

/// <summary>One frame of a run, as the alignment takes it.</summary>
/// <param name="Info">When and how.</param>
/// <param name="Field">Its stars.</param>
public sealed record RunFrame(FrameInfo Info, StarField Field);

/// <summary>A frame laid over the reference frame.</summary>
/// <param name="Info">When and how.</param>
/// <param name="Motion">From the reference frame to this one.</param>
/// <param name="Segment">Counts up at every bump: within a segment the tripod stood still.</param>
public sealed record AlignedFrame(FrameInfo Info, FieldMotion Motion, int Segment);

/// <summary>Something to tell the user about a frame.</summary>
/// <param name="Name">File name.</param>
/// <param name="Reason">One sentence.</param>
/// <param name="LeftOut">False where the frame is used all the same.</param>
public sealed record FrameNote(string Name, string Reason, bool LeftOut);

/// <summary>The usable frames of a run, by time, and the notes on the others.</summary>
/// <param name="Frames">Usable frames.</param>
/// <param name="Notes">What there is to say of single frames.</param>
/// <param name="ReferenceUtc">Mid-exposure of the frame that all motions are counted from.</param>
/// <param name="NightStartUtc">Start of the night's first frame, usable or not.</param>
/// <param name="WidthPx">Columns of the frames.</param>
/// <param name="HeightPx">Rows of the frames.</param>
public sealed record RunAlignment(
    IReadOnlyList<AlignedFrame> Frames, IReadOnlyList<FrameNote> Notes, DateTime ReferenceUtc = default,
        DateTime NightStartUtc = default,
    int WidthPx = 0, int HeightPx = 0)
{
    /// <summary>The reference frame's time on the run's own clock, 0 at the first frame's mid-exposure, s.</summary>
    public double ReferenceSeconds => Frames.Count == 0
        ? 0
        : (ReferenceUtc - Frames[0].Info.MidUtc!.Value).TotalSeconds;

    /// <summary>Variance across a typical star's shorter axis, px²: how wide a star is that does not move. Infinity
    /// where unknown.</summary>
    public double SpotVariancePx2 { get; init; } = double.PositiveInfinity;

    private static readonly TimeSpan _nightGap = TimeSpan.FromHours(6);

    // Focus changes and refraction alter the scale by much less than this.
    private const double ScaleTolerance = 0.003;
    private const double DistortionShare = 0.1;
    private const int MinInSegment = 4;

    /// <summary>How much later than the first frame of its night, clouded or not, the first usable one began,
    /// s.</summary>
    public double FirstLateSeconds => Frames.Count == 0
        ? 0
        : (Frames[0].Info.StartUtc!.Value - NightStartUtc).TotalSeconds;

    /// <summary>Aligns a run.</summary>
    /// <param name="frames">Frames in any order.</param>
    /// <param name="focalLengthPx">Focal length in pixels; null for plane similarities.</param>
    /// <param name="expected">The motion from one frame to another where it is known; null for none.</param>
    public static RunAlignment Of(IReadOnlyList<RunFrame> frames, double? focalLengthPx,
        Func<RunFrame, RunFrame, FieldMotion?>? expected = null)
    {
        var notes = new List<FrameNote>();
        var timed = frames.Where(f => f.Info.MidUtc is not null).OrderBy(f => f.Info.MidUtc)
            .ThenBy(f => f.Info.Name, StringComparer.Ordinal).ToList();
        foreach (RunFrame? f in frames.Where(f => f.Info.MidUtc is null))
        {
            notes.Add(new FrameNote(f.Info.Name, "has no time in its file; give one or leave it out.", true));
        }

        RecordWrongOrder(frames, notes);
        timed = KeepLongestNight(timed, notes);
        DateTime nightStart = timed.Count > 0 ? timed[0].Info.StartUtc!.Value : default;
        timed = KeepCommonSize(timed, notes);
        foreach (RunFrame? f in timed)
        {
            RecordAircraftTrails(f, notes);
        }

        if (timed.Count == 0)
        {
            return new RunAlignment(Array.Empty<AlignedFrame>(), notes);
        }

        // The frame with the most stars near the middle of the run: half the drift to either side.
        int middle = Enumerable.Range(0, timed.Count).OrderByDescending(i =>
            Math.Min(timed[i].Field.Stars.Count, 300) * (1 - (0.5 * Math.Abs(i - (timed.Count / 2.0)) / timed.Count)))
            .First();
        List<MatchedFrame> aligned =
            MeanField.Of(KeepCommonLens(AlignAll(timed, middle, focalLengthPx, expected, notes), timed, notes),
                focalLengthPx);
        return new RunAlignment(SplitAtBumps(aligned, notes), notes, timed[middle].Info.MidUtc!.Value, nightStart,
            timed[middle].Field.Width, timed[middle].Field.Height)
        { SpotVariancePx2 = SpotVariance(timed) };
    }

    // Across the trails, of clean stars; where every trail is too long for the window to settle, of all.
    private static double SpotVariance(List<RunFrame> run)
    {
        const int Brightest = 200;
        foreach (StarCautions allowed in new[] { StarCautions.None, StarCautions.Blended })
        {
            double[] narrow = [.. run.Select(f => Narrow([.. f.Field.Stars.Where(s => (s.Cautions & ~allowed) == 0)
                .Take(Brightest)])).OfType<double>()];
            if (narrow.Length > 0)
            {
                return Math.Max(Median.Of(narrow), 0.05);
            }
        }

        return double.PositiveInfinity;
    }

    private static double? Narrow(Star[] stars) => stars.Length == 0 ? null : Median.Of(stars.Select(s =>
        ((s.Cxx + s.Cyy) / 2) - Math.Sqrt(Math.Pow((s.Cxx - s.Cyy) / 2, 2) + (s.Cxy * s.Cxy))));

    private static List<MatchedFrame> AlignAll(List<RunFrame> timed, int middle, double? focal,
        Func<RunFrame, RunFrame, FieldMotion?>? expected, List<FrameNote> notes)
    {
        double clear = ClearCount(timed);
        bool Cloudy(RunFrame f) => f.Field.TooMuch || f.Field.StarCount < 0.35 * clear;
        RunFrame reference = timed[middle];
        var found = new List<MatchedFrame>
        {
            new(reference, new FieldMotion(0, 0, 0, 1, 0.005, 1e-6, reference.Field.Stars.Count, 0),
                reference.Field.Stars.Select(s => new StarPair(s, s)).ToList()),
        };
        foreach (int way in new[] { 1, -1 })
        {
            FieldMotion? last = null;
            for (int i = middle + way; i >= 0 && i < timed.Count; i += way)
            {
                RunFrame f = timed[i];
                (IReadOnlyList<StarPair> Pairs, FieldMotion Motion)? match =
                    StarMatcher.Match(reference.Field, f.Field, focal, expected?.Invoke(reference, f) ?? last);
                bool sameLens = match is null || Math.Abs(match.Value.Motion.Scale - 1) < ScaleTolerance;
                // A longer lens shows fewer stars too: its scale tells it from a cloud.
                if (Cloudy(f) && sameLens)
                {
                    notes.Add(new FrameNote(f.Info.Name, CloudReason(f, clear), true));
                }
                else if (match is null)
                {
                    notes.Add(new FrameNote(f.Info.Name, NoMatchReason(reference, f), true));
                }
                else
                {
                    found.Add(new MatchedFrame(f, match.Value.Motion, match.Value.Pairs));
                    last = sameLens ? match.Value.Motion : last;
                }
            }
        }
        return found.OrderBy(f => f.Frame.Info.MidUtc).ToList();
    }

    private static string CloudReason(RunFrame f, double clear) => f.Field.TooMuch
        ? "is lit all over (daylight, dew or a lamp); left out."
        : $"clouds: {f.Field.StarCount} stars where clear frames have {clear:0}; left out.";

    private static string NoMatchReason(RunFrame reference, RunFrame f)
    {
        if (f.Info.FocalLengthMm is { } mm && reference.Info.FocalLengthMm is { } other
            && Math.Abs((mm / other) - 1) > 0.01)
        {
            return $"lens changed: {mm:0.#} mm where the run has {other:0.#} mm; left out.";
        }

        return f.Field.Stars.Count < 6
            ? $"only {f.Field.Stars.Count} stars found: too few to match; left out."
            : "its stars do not match the run's: another field, another lens or another night; left out.";
    }

    private static void RecordWrongOrder(IReadOnlyList<RunFrame> frames, List<FrameNote> notes)
    {
        for (int i = 1; i < frames.Count; i++)
        {
            if (frames[i].Info.MidUtc < frames[i - 1].Info.MidUtc)
            {
                notes.Add(new FrameNote(frames[i].Info.Name,
                    $"was taken before {frames[i - 1].Info.Name}, which it follows by name; the frames are sorted "
                    + "by time.", false));
            }
        }
    }

    private static List<RunFrame> KeepLongestNight(List<RunFrame> timed, List<FrameNote> notes)
    {
        var nights = new List<List<RunFrame>>();
        foreach (RunFrame f in timed)
        {
            if (nights.Count == 0 || f.Info.MidUtc - nights[^1][^1].Info.MidUtc > _nightGap)
            {
                nights.Add(new List<RunFrame>());
            }

            nights[^1].Add(f);
        }
        List<RunFrame> kept = nights.OrderByDescending(n => n.Count).FirstOrDefault() ?? new List<RunFrame>();
        foreach (RunFrame? f in nights.Where(n => !ReferenceEquals(n, kept)).SelectMany(n => n))
        {
            notes.Add(
                new FrameNote(f.Info.Name,
                    $"is from another night ({f.Info.MidUtc:yyyy-MM-dd HH:mm} UTC); left out.", true));
        }

        return kept;
    }

    private static List<RunFrame> KeepCommonSize(List<RunFrame> timed, List<FrameNote> notes)
    {
        (int Width, int Height)? size = timed.GroupBy(f => (f.Field.Width, f.Field.Height))
            .OrderByDescending(g => g.Count()).FirstOrDefault()?.Key;
        foreach (RunFrame? f in timed.Where(f => (f.Field.Width, f.Field.Height) != size))
        {
            notes.Add(
                new FrameNote(f.Info.Name,
                    $"is {f.Field.Width} by {f.Field.Height} pixels where the run has {size!.Value.Width} by "
                    + $"{size.Value.Height}; left out.", true));
        }

        return timed.Where(f => (f.Field.Width, f.Field.Height) == size).ToList();
    }

    // The better frames define the clear sky: clouds may cover half of the run.
    private static double ClearCount(List<RunFrame> timed)
    {
        var counts = timed.Where(f => !f.Field.TooMuch).Select(f => f.Field.StarCount).OrderDescending().ToList();
        return counts.Count < 3 ? 0 : counts[(int)(counts.Count * 0.2)];
    }

    private static void RecordAircraftTrails(RunFrame f, List<FrameNote> notes)
    {
        // In a tracked frame the stars are points, so a long streak is not a star.
        Streak streak = f.Field.Streaks.Count > 0 ? f.Field.Streaks[0] : default;
        if (streak.LengthPx > 60 && f.Field.Stars.Count > 20 && f.Field.Streaks.Count(s => s.LengthPx > 60) <= 5)
        {
            notes.Add(
                new FrameNote(f.Info.Name,
                    $"a line of {streak.LengthPx:0} pixels (an aircraft's or satellite's trail, or an edge in the "
                        + "foreground) is left out; the rest of the frame is used.", false));
        }
    }

    private static List<MatchedFrame> KeepCommonLens(
        List<MatchedFrame> aligned, List<RunFrame> timed, List<FrameNote> notes)
    {
        var groups = new List<List<MatchedFrame>>();
        foreach (MatchedFrame a in aligned)
        {
            List<MatchedFrame>? home =
                groups.Find(g => Math.Abs((a.Motion.Scale / g[0].Motion.Scale) - 1) < ToleranceBetween(a, g[0]));
            if (home is null)
            {
                groups.Add(home = new List<MatchedFrame>());
            }

            home.Add(a);
        }
        List<MatchedFrame> kept = groups.MaxBy(g => g.Count) ?? aligned;
        foreach (MatchedFrame? a in aligned.Where(a => !kept.Contains(a)))
        {
            notes.Add(new FrameNote(a.Frame.Info.Name,
                $"lens changed: its picture is {100 * ((a.Motion.Scale / kept[0].Motion.Scale) - 1):+0.0;-0.0} "
                + $"% larger than most of the {timed.Count} frames'; left out.", true));
        }

        return kept;
    }

    // A field that drifted across a lens with distortion is larger or smaller by up to some parts in a hundred.
    private static double ToleranceBetween(MatchedFrame a, MatchedFrame b)
    {
        double drift = Math.Sqrt(Math.Pow(a.Motion.ShiftXPx - b.Motion.ShiftXPx, 2)
            + Math.Pow(a.Motion.ShiftYPx - b.Motion.ShiftYPx, 2));
        double half = Math.Sqrt(Math.Pow(a.Frame.Field.Width, 2) + Math.Pow(a.Frame.Field.Height, 2)) / 2;
        return ScaleTolerance + (DistortionShare * drift / Math.Max(half, 1));
    }

    private static List<AlignedFrame> SplitAtBumps(List<MatchedFrame> run, List<FrameNote> notes)
    {
        var result = new List<AlignedFrame>();
        if (run.Count == 0)
        {
            return result;
        }

        var rates = new List<(double X, double Y)>();
        for (int i = 1; i < run.Count; i++)
        {
            double dt =
                Math.Max((run[i].Frame.Info.MidUtc!.Value - run[i - 1].Frame.Info.MidUtc!.Value).TotalSeconds, 0.5);
            rates.Add(((run[i].Motion.ShiftXPx - run[i - 1].Motion.ShiftXPx) / dt,
                (run[i].Motion.ShiftYPx - run[i - 1].Motion.ShiftYPx) / dt));
        }
        double mx = Median.Of(rates.Select(r => r.X)), my = Median.Of(rates.Select(r => r.Y));
        // Step left over after the common drift; the thread's periodic error moves stars a little from frame to frame.
        var jumps = new List<double>();
        for (int i = 1; i < run.Count; i++)
        {
            double dt =
                Math.Max((run[i].Frame.Info.MidUtc!.Value - run[i - 1].Frame.Info.MidUtc!.Value).TotalSeconds, 0.5);
            jumps.Add(Math.Sqrt(Math.Pow((rates[i - 1].X - mx) * dt, 2) + Math.Pow((rates[i - 1].Y - my) * dt, 2)));
        }
        double limit = Math.Max(4, 8 * Median.Of(jumps));
        int segment = 0;
        for (int i = 0; i < run.Count; i++)
        {
            if (i > 0 && jumps[i - 1] > limit)
            {
                segment++;
                notes.Add(new FrameNote(run[i].Frame.Info.Name,
                    $"bump: the field jumped {jumps[i - 1]:0.0} pixels since the frame before; each side is "
                        + "fitted with its own start and its own axis, and the last one's axis is told.", false));
            }
            result.Add(new AlignedFrame(run[i].Frame.Info, run[i].Motion, segment));
        }
        return DropShortSegments(result, notes);
    }

    // A few frames between two bumps cannot tell an axis error of their own from the rate.
    private static List<AlignedFrame> DropShortSegments(List<AlignedFrame> run, List<FrameNote> notes)
    {
        var sizes = run.GroupBy(f => f.Segment).ToDictionary(g => g.Key, g => g.Count());
        if (sizes.Values.Max() < MinInSegment)
        {
            return run;
        }

        foreach (AlignedFrame? f in run.Where(f => sizes[f.Segment] < MinInSegment))
        {
            notes.Add(
                new FrameNote(f.Info.Name,
                    $"stands between bumps with only {sizes[f.Segment]} frames, too few to fit; left out.", true));
        }

        return run.Where(f => sizes[f.Segment] >= MinInSegment).ToList();
    }
}
