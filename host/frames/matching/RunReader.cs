// Reads a run of frame files into star lists on several cores, and releases the pixels as soon as the stars are
// measured.
// Files that cannot be read become notes. Not here: putting the frames over one another (RunAlignment).
using Hourhinge.Frames.Reading;
using Hourhinge.Frames.Stars;

namespace Hourhinge.Frames.Matching;

/// <summary>A run as read: frames in the order of the paths, and notes on files that were refused.</summary>
public sealed record RunRead(IReadOnlyList<RunFrame> Frames, IReadOnlyList<FrameNote> Unreadable)
{
    /// <summary>Reads and measures files.</summary>
    /// <param name="paths">Frame files; their order is kept.</param>
    /// <param name="overrides">Corrections to times and exposure.</param>
    /// <param name="options">Finder's options; null for the defaults.</param>
    /// <param name="progress">Called after each file, one call at a time.</param>
    /// <param name="workers">Frames in work at once, 1 to 16; each takes up to 0.3 GB for 24 megapixels.</param>
    /// <param name="cancel">Stops between frames.</param>
    public static RunRead Of(IReadOnlyList<string> paths, FrameOverrides overrides, FinderOptions? options = null,
        Action<GradingProgress>? progress = null, int workers = 2, CancellationToken cancel = default)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(workers, 1);
        ArgumentOutOfRangeException.ThrowIfGreaterThan(workers, 16);
        var frames = new RunFrame?[paths.Count];
        string[] refusals = new string[paths.Count];
        var gate = new Lock();
        int done = 0;
        Parallel.For(0, paths.Count,
            new ParallelOptions { MaxDegreeOfParallelism = workers, CancellationToken = cancel }, i =>
        {
            if (FrameReader.TryRead(paths[i], overrides, out Frame? frame, out refusals[i]))
            {
                using (frame)
                {
                    frames[i] = new RunFrame(frame.Info, StarFinder.Find(frame.Image, options));
                }
            }
            lock (gate)
            {
                progress?.Invoke(new GradingProgress(++done, paths.Count, Path.GetFileName(paths[i])));
            }
        });
        var refused = Enumerable.Range(0, paths.Count).Where(i => frames[i] is null)
            .Select(i => new FrameNote(Path.GetFileName(paths[i]), WithoutName(refusals[i], Path.GetFileName(paths[i])),
                true)).ToList();
        return new RunRead(frames.OfType<RunFrame>().ToList(), refused);
    }

    // A note tells the name beside the reason.
    private static string WithoutName(string refusal, string name) =>
        (refusal.StartsWith($"{name}: ", StringComparison.Ordinal)
            ? refusal[(name.Length + 2)..]
            : refusal).TrimEnd('.') + "; left out.";
}
