// The sky's level and noise over the frame: a mesh of cells, each by sigma clipping, smoothed by a 3 by 3 median and
// interpolated bilinearly. Half of the rows are looked at: 2048 pixels a cell fix the level to a fortieth of its noise.
// Not here: what stands above the background (StarFinder).
using System.Numerics;
using Hourhinge.Frames.Reading;
using Hourhinge.Numerics;

namespace Hourhinge.Frames.Stars;

/// <summary>Background mesh of a frame.</summary>
public sealed class Background
{
    /// <summary>Side of a cell, pixels.</summary>
    public const int CellPx = 64;

    private const int Rounds = 4;
    private const float ClipSigma = 3;

    // A Gaussian cut at +-3 sigma has 0.9866 of its standard deviation left.
    private const float ClippedShare = 0.98658f;

    private readonly int _width;
    private readonly int _columns;
    private readonly int _rows;
    private readonly float[] _level;
    private readonly float[] _noise;

    private Background(int width, int height)
    {
        this._width = width;
        _columns = (width + CellPx - 1) / CellPx;
        _rows = (height + CellPx - 1) / CellPx;
        _level = new float[_columns * _rows];
        _noise = new float[_columns * _rows];
    }

    /// <summary>Median of the cells' levels.</summary>
    public float MedianLevel { get; private set; }

    /// <summary>Median of the cells' noise.</summary>
    public float MedianNoise { get; private set; }

    /// <summary>Measures the background of an image.</summary>
    public static Background Of(FrameImage image)
    {
        var b = new Background(image.Width, image.Height);
        float[] cell = new float[CellPx * CellPx / 2];
        float[] sample = new float[128];
        float leastNoise = Math.Max(0.2887f * image.Quantum, 1e-20f);
        for (int j = 0; j < b._rows; j++)
        {
            for (int i = 0; i < b._columns; i++)
            {
                int x0 = i * CellPx, wide = Math.Min(CellPx, image.Width - x0), n = 0;
                for (int y = j * CellPx; y < Math.Min((j + 1) * CellPx, image.Height); y += 2, n += wide)
                {
                    image.CopyRow(y, x0, cell.AsSpan(n, wide));
                }

                (b._level[(j * b._columns) + i], b._noise[(j * b._columns) + i]) =
                    Clipped(cell.AsSpan(0, n), sample, leastNoise);
            }
        }
        b.MedianFilter(b._level);
        b.MedianFilter(b._noise);
        b.MedianLevel = Median.InPlace<float>(b._level.ToArray());
        b.MedianNoise = Median.InPlace<float>(b._noise.ToArray());
        return b;
    }

    /// <summary>Noise of one pixel in the cell that holds (x, y).</summary>
    public float NoiseAt(int x, int y) =>
        _noise[(Math.Min(y / CellPx, _rows - 1) * _columns) + Math.Min(x / CellPx, _columns - 1)];

    /// <summary>Level at one pixel.</summary>
    public float At(int x, int y)
    {
        (int j, float jPart) = Between(y, _rows);
        (int i, float iPart) = Between(x, _columns);
        int down = j + 1 < _rows ? _columns : 0, right = i + 1 < _columns ? 1 : 0, k = (j * _columns) + i;
        float top = _level[k] + ((_level[k + right] - _level[k]) * iPart);
        float bottom = _level[k + down] + ((_level[k + down + right] - _level[k + down]) * iPart);
        return top + ((bottom - top) * jPart);
    }

    /// <summary>Takes the background off a whole row of width pixels, in place.</summary>
    public void SubtractFrom(Span<float> row, int y)
    {
        (int j, float part) = Between(y, _rows);
        int down = j + 1 < _rows ? _columns : 0;
        float Node(int i) =>
            _level[(j * _columns) + i] + ((_level[(j * _columns) + down + i] - _level[(j * _columns) + i]) * part);

        const int Half = CellPx / 2;
        SubtractRamp(row[..Math.Min(Half, _width)], Node(0), 0);
        for (int i = 0; i < _columns; i++)
        {
            int from = (i * CellPx) + Half, to = Math.Min(from + CellPx, _width);
            if (from >= _width)
            {
                break;
            }

            float left = Node(i), right = Node(Math.Min(i + 1, _columns - 1));
            float slope = (right - left) / CellPx;
            SubtractRamp(row[from..to], left + (0.5f * slope), slope);
        }
    }

    private static (int Index, float Part) Between(int at, int count)
    {
        float f = ((at + 0.5f) / CellPx) - 0.5f;
        int i = Math.Clamp((int)MathF.Floor(f), 0, count - 1);
        return (i, Math.Clamp(f - i, 0, 1));
    }

    private static void SubtractRamp(Span<float> part, float start, float slope)
    {
        int n = Vector<float>.Count, i = 0;
        Vector<float> value = new Vector<float>(start) + (Vector<float>.Indices * slope);
        var step = new Vector<float>(slope * n);
        for (; i <= part.Length - n; i += n, value += step)
        {
            (new Vector<float>(part[i..]) - value).CopyTo(part[i..]);
        }

        for (; i < part.Length; i++)
        {
            part[i] -= start + (slope * i);
        }
    }

    private static (float Level, float Noise) Clipped(ReadOnlySpan<float> cell, float[] sample, float leastNoise)
    {
        // Start from the median and quartiles of a thin sample, so that a bright star does not widen the first clip.
        int stride = Math.Max(1, cell.Length / sample.Length), taken = 0;
        for (int i = stride / 2; i < cell.Length && taken < sample.Length; i += stride)
        {
            sample[taken++] = cell[i];
        }

        Span<float> sorted = sample.AsSpan(0, taken);
        float mean = Median.InPlace(sorted);
        float sigma = Math.Max((sorted[taken * 3 / 4] - sorted[taken / 4]) / 1.349f, 2 * leastNoise);
        for (int round = 0; round < Rounds; round++)
        {
            (float n, float sum, float squares) = SumsWithin(cell, mean, ClipSigma * sigma);
            if (n < 2)
            {
                break;
            }

            float shift = sum / n;
            mean += shift;
            sigma = Math.Max(MathF.Sqrt(Math.Max((squares / n) - (shift * shift), 0)) / ClippedShare, leastNoise);
        }
        return (mean, sigma);
    }

    private static (float Count, float Sum, float Squares) SumsWithin(ReadOnlySpan<float> cell, float centre,
        float reach)
    {
        Vector<float> count = Vector<float>.Zero;
        Vector<float> sum = Vector<float>.Zero;
        Vector<float> squares = Vector<float>.Zero;
        var middle = new Vector<float>(centre);
        var limit = new Vector<float>(reach);
        int i = 0;
        for (; i <= cell.Length - Vector<float>.Count; i += Vector<float>.Count)
        {
            Vector<float> d = new Vector<float>(cell[i..]) - middle;
            var inside = Vector.LessThanOrEqual(Vector.Abs(d), limit);
            d = Vector.ConditionalSelect(inside, d, Vector<float>.Zero);
            count += Vector.ConditionalSelect(inside, Vector<float>.One, Vector<float>.Zero);
            sum += d;
            squares += d * d;
        }
        float n = Vector.Sum(count), s = Vector.Sum(sum), q = Vector.Sum(squares);
        for (; i < cell.Length; i++)
        {
            float d = cell[i] - centre;
            if (MathF.Abs(d) <= reach)
            {
                (n, s, q) = (n + 1, s + d, q + (d * d));
            }
        }
        return (n, s, q);
    }

    private void MedianFilter(float[] grid)
    {
        float[] from = grid.ToArray();
        float[] near = new float[9];
        for (int j = 0; j < _rows; j++)
        {
            for (int i = 0; i < _columns; i++)
            {
                int n = 0;
                for (int v = Math.Max(j - 1, 0); v <= Math.Min(j + 1, _rows - 1); v++)
                {
                    for (int u = Math.Max(i - 1, 0); u <= Math.Min(i + 1, _columns - 1); u++)
                    {
                        near[n++] = from[(v * _columns) + u];
                    }
                }
                grid[(j * _columns) + i] = Median.InPlace(near.AsSpan(0, n));
            }
        }
    }
}
