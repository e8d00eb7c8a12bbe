// One pass over the frame: background off, 3 by 3 smoothing (1 2 1), threshold, and the pixels above it as runs
// joined into 8-connected components. Everything is vectorised but the rare pixels above the threshold.
// Not here: what a component is (StarFinder), how it is measured (StarMeasure, StreakMeasure).
using System.Numerics;
using System.Runtime.CompilerServices;
using Hourhinge.Frames.Reading;

namespace Hourhinge.Frames.Stars;

/// <summary>A stretch of pixels above the threshold in one row, last column included.</summary>
internal readonly record struct PixelRun(int Y, int First, int Last);

internal sealed class SourceScan
{
    // More runs than this mean daylight, not stars.
    private const int MaxRuns = 1_500_000;

    // Sum of the weights 1 2 1 by 1 2 1.
    private const float Weights = 16;

    private readonly List<PixelRun> _runs = new(1 << 14);
    private readonly List<int> _parent = new(1 << 14);
    private int _previousFirst;
    private int _currentFirst;

    /// <summary>True where the scan gave up.</summary>
    public bool TooMuch { get; private set; }

    /// <summary>The components, each a list of runs from top to bottom, in order of their first run.</summary>
    public static SourceScan Of(FrameImage image, Background sky, double thresholdSigma)
    {
        var scan = new SourceScan();
        int width = image.Width, pad = Vector<float>.Count;
        float[][] rows = new float[3][];
        for (int k = 0; k < 3; k++)
        {
            rows[k] = new float[width + (2 * pad)];
        }

        float[] tall = new float[width + (2 * pad)];
        for (int y = 0; y <= image.Height && !scan.TooMuch; y++)
        {
            Span<float> newest = rows[y % 3].AsSpan(pad, width);
            if (y < image.Height)
            {
                image.CopyRow(y, 0, newest);
                sky.SubtractFrom(newest, 0, y);
            }
            else
            {
                newest.Clear();
            }
            if (y == 0)
            {
                continue;
            }

            AddRows(rows[(y + 1) % 3], rows[(y + 2) % 3], rows[y % 3], tall);
            scan.ScanRow(tall, width, y - 1, sky, (float)thresholdSigma * Weights);
        }
        return scan;
    }

    public List<List<PixelRun>> Components(int leastPixels)
    {
        int[] size = new int[_runs.Count];
        for (int i = 0; i < _runs.Count; i++)
        {
            size[Root(i)] += _runs[i].Last - _runs[i].First + 1;
        }

        int[] index = new int[_runs.Count];
        var found = new List<List<PixelRun>>();
        for (int i = 0; i < _runs.Count; i++)
        {
            int root = Root(i);
            if (size[root] < leastPixels)
            {
                continue;
            }

            if (index[root] == 0)
            {
                found.Add(new List<PixelRun>());
                index[root] = found.Count;
            }
            found[index[root] - 1].Add(_runs[i]);
        }
        return found;
    }

    [MethodImpl(MethodImplOptions.AggressiveOptimization)]
    private static void AddRows(float[] above, float[] middle, float[] below, float[] into)
    {
        int i = 0;
        for (; i <= into.Length - Vector<float>.Count; i += Vector<float>.Count)
        {
            var m = new Vector<float>(middle, i);
            (new Vector<float>(above, i) + m + m + new Vector<float>(below, i)).CopyTo(into, i);
        }

        for (; i < into.Length; i++)
        {
            into[i] = above[i] + (2 * middle[i]) + below[i];
        }
    }

    // tall: the sums of three rows, with a vector of zeros before column 0 and behind the last.
    private void ScanRow(float[] tall, int width, int y, Background sky, float factor)
    {
        _previousFirst = _currentFirst;
        _currentFirst = _runs.Count;
        int open = -1;
        for (int x0 = 0; x0 < width; x0 += Background.CellPx)
        {
            int end = Math.Min(x0 + Background.CellPx, width);
            float limit = factor * sky.SmoothedNoiseAt(x0, y);
            if (open < 0 && !IsAnyAbove(tall, x0, end, limit))
            {
                continue;
            }

            for (int x = x0, at = x0 + Vector<float>.Count; x < end; x++, at++)
            {
                if (tall[at - 1] + (2 * tall[at]) + tall[at + 1] > limit)
                {
                    if (open < 0)
                    {
                        open = x;
                    }
                }
                else if (open >= 0)
                {
                    Close(y, open, x - 1);
                    open = -1;
                }
            }
        }
        if (open >= 0)
        {
            Close(y, open, width - 1);
        }

        TooMuch |= _runs.Count > MaxRuns;
    }

    // Looks at whole vectors: it may see a few columns behind the end, never miss one before it.
    [MethodImpl(MethodImplOptions.AggressiveOptimization)]
    private static bool IsAnyAbove(float[] tall, int x0, int end, float limit)
    {
        int n = Vector<float>.Count;
        Vector<float> top = Vector<float>.Zero;
        for (int at = x0 + n; at < end + n; at += n)
        {
            var m = new Vector<float>(tall, at);
            top = Vector.MaxNative(top, new Vector<float>(tall, at - 1) + m + m + new Vector<float>(tall, at + 1));
        }

        return Vector.GreaterThanAny(top, new Vector<float>(limit));
    }

    private void Close(int y, int first, int last)
    {
        int me = _runs.Count;
        _runs.Add(new PixelRun(y, first, last));
        _parent.Add(me);
        // Runs of the row above lie in order: those that end before this one starts will touch no later run either.
        while (_previousFirst < _currentFirst && _runs[_previousFirst].Last < first - 1)
        {
            _previousFirst++;
        }

        for (int i = _previousFirst; i < _currentFirst && _runs[i].First <= last + 1; i++)
        {
            int a = Root(i), b = Root(me);
            if (a != b)
            {
                _parent[Math.Max(a, b)] = Math.Min(a, b);
            }
        }
    }

    private int Root(int i)
    {
        while (_parent[i] != i)
        {
            _parent[i] = _parent[_parent[i]];
            i = _parent[i];
        }
        return i;
    }
}
