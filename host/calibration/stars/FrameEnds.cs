// The two ends of a run for a quick answer: which files are taken, and whether the field moved evenly between them.
using Hourhinge.Frames.Matching;

namespace Hourhinge.Calibration.Stars;

/// <summary>First and last usable frame of a run, and one between them.</summary>
internal static class FrameEnds
{
    private const int MinStars = 8;

    // Files that are tried from each end: the last one is often cut short, the first ones are clouded.
    private const int MaxSkipped = 10;

    // What a thread's periodic error, a tilted axis and a changing rate move the middle off the straight line: two
    // readings of a periodic error of 10 arcsec, pixels, and a part of the whole way.
    private const double EvenArcsec = 40, EvenPx = 1.5, EvenShare = 0.1;

    /// <summary>Reads the first and the last usable file, and the middle one.</summary>
    /// <param name="files">By name, one or more.</param>
    /// <param name="read">Reads files.</param>
    /// <returns>Up to three frames in the order of the files, and notes on those passed over.</returns>
    public static RunRead Read(IReadOnlyList<string> files, Func<IReadOnlyList<string>, RunRead> read)
    {
        int from = 0, until = files.Count - 1;
        var frames = new RunFrame?[files.Count];
        var notes = new List<FrameNote>();
        void Take(params int[] wanted)
        {
            int[] distinct = [.. wanted.Distinct()];
            RunRead some = read([.. distinct.Select(i => files[i])]);
            notes.AddRange(some.Unreadable);
            foreach (int i in distinct)
            {
                frames[i] = some.Frames.FirstOrDefault(f => f.Info.Name == Path.GetFileName(files[i]));
            }
        }

        bool IsUsable(int i)
        {
            RunFrame? frame = frames[i];
            bool usable = frame is { Info.MidUtc: not null, Field.TooMuch: false }
                && frame.Field.Stars.Count >= MinStars;
            if (frame is not null && !usable)
            {
                notes.Add(new FrameNote(frame.Info.Name, frame.Info.MidUtc is null
                    ? "has no time in its file; give one or leave it out."
                    : $"shows {frame.Field.Stars.Count} stars: too few; the next frame is taken.", true));
            }

            return usable;
        }

        int middle = files.Count / 2;
        Take(from, middle, until);
        bool isFirst = IsUsable(from), isLast = until > from && IsUsable(until);
        while (!isFirst && from < Math.Min(MaxSkipped, until - 1))
        {
            Take(++from);
            isFirst = IsUsable(from);
        }

        while (!isLast && until > Math.Max(files.Count - 1 - MaxSkipped, from + 1))
        {
            Take(--until);
            isLast = IsUsable(until);
        }

        int[] taken = middle > from && middle < until ? [from, middle, until] : [from, until];
        return new RunRead([.. taken.Distinct().Select(i => frames[i]).OfType<RunFrame>()], [.. notes.Distinct()]);
    }

    /// <summary>The motion from the first to the last frame of two.</summary>
    public static FieldMotion Motion(RunAlignment run)
    {
        FieldMotion first = run.Frames[0].Motion, last = run.Frames[^1].Motion;
        return last.ShiftXPx != 0 || last.RotationRad != 0
            ? last
            : first with { ShiftXPx = -first.ShiftXPx, ShiftYPx = -first.ShiftYPx, RotationRad = -first.RotationRad };
    }

    /// <summary>A reason for doubt where the frame between the ends is not where an even motion has it.</summary>
    /// <param name="whole">First and last frame.</param>
    /// <param name="half">First frame and the one between; with one frame, it could not be matched.</param>
    /// <param name="arcsecPerPx">Scale.</param>
    public static string? Uneven(RunAlignment whole, RunAlignment half, double arcsecPerPx)
    {
        if (half.Frames.Count < 2)
        {
            return null;
        }

        static double Seconds(RunAlignment run) =>
            (run.Frames[^1].Info.MidUtc!.Value - run.Frames[0].Info.MidUtc!.Value).TotalSeconds;
        FieldMotion all = Motion(whole), part = Motion(half);
        double share = Seconds(half) / Seconds(whole);
        double off = Length(part.ShiftXPx - (share * all.ShiftXPx), part.ShiftYPx - (share * all.ShiftYPx));
        return off <= (EvenArcsec / arcsecPerPx) + EvenPx + (EvenShare * Length(all.ShiftXPx, all.ShiftYPx))
            ? null
            : $"the field did not move evenly: in {half.Frames[^1].Info.Name} it is {off:0} pixels off the way from "
                + $"{whole.Frames[0].Info.Name} to {whole.Frames[^1].Info.Name}. The tripod was bumped, or the "
                + "camera or "
                + "the drive slipped: take two new frames.";
    }

    private static double Length(double x, double y) => Math.Sqrt((x * x) + (y * y));
}
