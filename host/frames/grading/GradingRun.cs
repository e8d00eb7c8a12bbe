// Measures the frames of a folder on several cores and records each in a JSON-lines file, so that a stopped run
// can be resumed. Memory: one frame a worker, and some hundred kilobytes for each frame when the run is compared. The
// result's order is the input's.
using System.Text.Json;
using Hourhinge.Frames.Reading;

namespace Hourhinge.Frames.Grading;

/// <summary>The work over many frames.</summary>
public static class GradingRun
{
    // Raised whenever the measures change meaning: older state files are then measured anew.
    private const int Version = 2;

    /// <summary>Measures all files.</summary>
    /// <param name="paths">The frames, in the order wanted.</param>
    /// <param name="overrides">Corrections to times and exposure.</param>
    /// <param name="stateFile">Where to remember; null for nowhere. Lines that cannot be read are ignored.</param>
    /// <param name="progress">Called after each frame, from the worker threads, one call at a time.</param>
    /// <param name="workers">Frames in work at once, 1 to 16; each takes up to 0.3 GB for 24 megapixels.</param>
    /// <param name="cancel">Stops between frames; what is done stays remembered.</param>
    public static IReadOnlyList<FrameMeasures> Measure(IReadOnlyList<string> paths, FrameOverrides overrides,
        string? stateFile,
        Action<GradingProgress>? progress = null, int workers = 2, CancellationToken cancel = default)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(workers, 1);
        ArgumentOutOfRangeException.ThrowIfGreaterThan(workers, 16);
        var results = new FrameMeasures?[paths.Count];
        Dictionary<(string, long, long), FrameMeasures> known = stateFile is null
            ? new Dictionary<(string, long, long), FrameMeasures>() : Load(stateFile);
        int done = 0;
        for (int i = 0; i < paths.Count; i++)
        {
            var file = new FileInfo(paths[i]);
            if (file.Exists
                && known.TryGetValue((file.Name, file.Length, file.LastWriteTimeUtc.Ticks), out FrameMeasures? old))
            {
                results[i] = old;
                progress?.Invoke(new GradingProgress(++done, paths.Count, file.Name));
            }
        }
        var gate = new Lock();
        using StreamWriter? state = stateFile is null ? null : OpenForAppend(stateFile);
        Parallel.ForEach(Enumerable.Range(0, paths.Count).Where(i => results[i] is null),
            new ParallelOptions { MaxDegreeOfParallelism = workers, CancellationToken = cancel },
            i =>
            {
                var measured = FrameMeasures.Of(paths[i], overrides);
                lock (gate)
                {
                    results[i] = measured;
                    if (measured.Error.Length == 0)
                    {
                        state?.WriteLine(JsonSerializer.Serialize(new StateLine(Version, measured)));
                    }

                    state?.Flush();
                    progress?.Invoke(new GradingProgress(++done, paths.Count, measured.Name));
                }
            });
        return results.Select(r => r!).ToList();
    }

    private sealed record StateLine(int Version, FrameMeasures Frame);

    private static Dictionary<(string, long, long), FrameMeasures> Load(string stateFile)
    {
        var known = new Dictionary<(string, long, long), FrameMeasures>();
        if (!File.Exists(stateFile))
        {
            return known;
        }

        foreach (string line in File.ReadLines(stateFile))
        {
            try
            {
                if (JsonSerializer.Deserialize<StateLine>(line) is
                    {
                        Version: Version,
                        Frame: { Name: not null, Error: not null } f
                    })
                {
                    known[(f.Name, f.Bytes, f.ModifiedUtcTicks)] = f;
                }
            }
            catch (JsonException)
            {
                // A line cut short when the run was stopped: that frame is measured again.
            }
        }
        return known;
    }

    private static StreamWriter OpenForAppend(string stateFile)
    {
        var stream = new FileStream(stateFile, FileMode.OpenOrCreate, FileAccess.ReadWrite, FileShare.Read);
        try
        {
            // A partial line left by a stopped run must not be joined with the next one.
            bool broken = stream.Length > 0;
            if (broken)
            {
                stream.Position = stream.Length - 1;
                broken = stream.ReadByte() != '\n';
            }
            stream.Position = stream.Length;
            var writer = new StreamWriter(stream) { NewLine = "\n" };
            if (broken)
            {
                writer.WriteLine();
            }

            return writer;
        }
        catch
        {
            stream.Dispose();
            throw;
        }
    }
}
