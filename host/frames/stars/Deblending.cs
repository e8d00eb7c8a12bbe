// Splits a component that holds several peaks: its smoothed pixels are flooded from the brightest down, and where two
// basins meet, the lower one stays a source of its own if its peak rises enough above the meeting point (its
// prominence); otherwise it joins the other. Stars in the glow of a cloud or of the Milky Way part from it so too.
// Not here: components (SourceScan), what a source is (StarFinder).
using Hourhinge.Frames.Reading;

namespace Hourhinge.Frames.Stars;

internal sealed class Deblending(FrameImage image, Background sky)
{
    /// <summary>The usual share of a peak that must rise above the saddle.</summary>
    public const double StarShare = 0.2;

    /// <summary>The same for a trail, whose light is uneven by itself.</summary>
    public const double TrailShare = 0.5;

    private const int MinPixels = 8;
    private const double ProminenceSigma = 4;

    // A lit wall or a cloud: flooding takes n log n, and its peaks are no stars.
    private const int MaxBox = 250_000;

    private readonly List<(int Parent, float Peak, bool Apart)> _basins = [];
    private readonly float[] _row = new float[image.Width];
    private readonly float[] _tall = new float[image.Width];
    private float[] _smoothed = new float[1 << 12];
    private int[] _label = new int[1 << 12];
    private int _x0;
    private int _y0;
    private int _wide;
    private int _high;

    /// <summary>The component's sources, each as runs from top to bottom; the component itself where it has one
    /// peak.</summary>
    /// <param name="runs">The component, from top to bottom.</param>
    /// <param name="share">Part of a peak that must rise above the saddle.</param>
    public List<List<PixelRun>> Split(List<PixelRun> runs, double share)
    {
        int pixels = runs.Sum(r => r.Last - r.First + 1);
        if (pixels < MinPixels || !Load(runs))
        {
            return [runs];
        }

        int[] order = new int[pixels];
        float[] keys = new float[pixels];
        int n = 0;
        foreach (PixelRun run in runs)
        {
            for (int x = run.First; x <= run.Last; x++, n++)
            {
                order[n] = ((run.Y - _y0) * _wide) + x - _x0;
                keys[n] = -_smoothed[order[n]];
            }
        }

        Array.Sort(keys, order);
        List<int> basins = Flood(order, share, sky.SmoothedNoiseAt(runs[0].First, runs[0].Y) * ProminenceSigma);
        return basins.Count < 2 ? [runs] : Collect(runs, basins);
    }

    // Returns the basins that stay apart; _label then holds the basin of each pixel, from 1.
    private List<int> Flood(int[] order, double share, double least)
    {
        _basins.Clear();
        _basins.Add((0, 0, false));
        Span<int> near = stackalloc int[8];
        foreach (int at in order)
        {
            float level = _smoothed[at];
            int count = Neighbours(at, near), home = 0;
            for (int k = 0; k < count; k++)
            {
                int other = Root(near[k]);
                if (home == 0)
                {
                    home = other;
                }
                else if (other != home)
                {
                    home = Meet(home, other, level, share, least);
                }
            }

            if (home == 0)
            {
                home = _basins.Count;
                _basins.Add((home, level, false));
            }

            _label[at] = home;
        }

        return Enumerable.Range(1, _basins.Count - 1).Where(b => Root(b) == b).ToList();
    }

    // Labels around a pixel, 8-connected.
    private int Neighbours(int at, Span<int> near)
    {
        int n = 0, x = at % _wide, y = at / _wide;
        for (int v = Math.Max(y - 1, 0); v <= Math.Min(y + 1, _high - 1); v++)
        {
            for (int u = Math.Max(x - 1, 0); u <= Math.Min(x + 1, _wide - 1); u++)
            {
                int label = _label[(v * _wide) + u];
                if (label > 0)
                {
                    near[n++] = label;
                }
            }
        }

        return n;
    }

    private int Meet(int a, int b, float level, double share, double least)
    {
        (int high, int low) = _basins[a].Peak >= _basins[b].Peak ? (a, b) : (b, a);
        float peak = _basins[low].Peak;
        if (_basins[low].Apart)
        {
            return high;
        }

        if (peak - level > Math.Max(share * peak, least))
        {
            _basins[low] = (low, peak, true);
            return high;
        }

        _basins[low] = (high, peak, false);
        return high;
    }

    private int Root(int basin)
    {
        while (_basins[basin].Parent != basin)
        {
            basin = _basins[basin].Parent;
        }

        return basin;
    }

    private List<List<PixelRun>> Collect(List<PixelRun> runs, List<int> basins)
    {
        var parts = basins.ToDictionary(b => b, _ => new List<PixelRun>());
        foreach (PixelRun run in runs)
        {
            int row = ((run.Y - _y0) * _wide) - _x0, first = run.First;
            for (int x = run.First; x <= run.Last; x++)
            {
                int label = Root(_label[row + x]);
                if (x == run.Last || Root(_label[row + x + 1]) != label)
                {
                    parts[label].Add(new PixelRun(run.Y, first, x));
                    first = x + 1;
                }
            }
        }

        return [.. basins.Select(b => parts[b]).Where(p => p.Count > 0)];
    }

    // Smooths the component's box as the scan smooths the frame; false where the box is too large.
    private bool Load(List<PixelRun> runs)
    {
        (_x0, _y0) = (runs.Min(r => r.First), runs[0].Y);
        (_wide, _high) = (runs.Max(r => r.Last) - _x0 + 1, runs[^1].Y - _y0 + 1);
        long area = (long)_wide * _high;
        if (area > MaxBox)
        {
            return false;
        }

        if (_label.Length < area)
        {
            (_label, _smoothed) = (new int[area], new float[area]);
        }

        Array.Clear(_label, 0, (int)area);
        foreach (PixelRun run in runs)
        {
            int wide = run.Last - run.First + 1;
            Smooth(run, _smoothed.AsSpan(((run.Y - _y0) * _wide) + run.First - _x0, wide));
        }

        return true;
    }

    /// <summary>The frame along a run, above the background; valid until the next call.</summary>
    public ReadOnlySpan<float> Above(PixelRun run)
    {
        Span<float> row = _row.AsSpan(0, run.Last - run.First + 1);
        image.CopyRow(run.Y, run.First, row);
        sky.SubtractFrom(row, run.First, run.Y);
        return row;
    }

    /// <summary>The smoothed frame at one pixel, above the background.</summary>
    public float Smoothed(int x, int y)
    {
        float value = 0;
        Smooth(new PixelRun(y, x, x), new Span<float>(ref value));
        return value;
    }

    private void Smooth(PixelRun run, Span<float> into)
    {
        int left = Math.Max(run.First - 1, 0), right = Math.Min(run.Last + 1, image.Width - 1);
        Span<float> row = _row.AsSpan(0, right - left + 1), tall = _tall.AsSpan(0, row.Length);
        tall.Clear();
        for (int v = -1; v <= 1; v++)
        {
            image.CopyRow(Math.Clamp(run.Y + v, 0, image.Height - 1), left, row);
            for (int i = 0; i < row.Length; i++)
            {
                tall[i] += v == 0 ? 2 * row[i] : row[i];
            }
        }

        for (int i = 0, at = run.First - left; i < into.Length; i++, at++)
        {
            into[i] = (tall[Math.Max(at - 1, 0)] + (2 * tall[at]) + tall[Math.Min(at + 1, tall.Length - 1)]) / 16;
        }

        sky.SubtractFrom(into, run.First, run.Y);
    }
}
