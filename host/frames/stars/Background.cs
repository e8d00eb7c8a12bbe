// The sky's level and noise over the frame: a mesh of cells, each by sigma clipping (CellSample), smoothed by a 3 by 3
// median and interpolated bilinearly. The noise is measured twice: of a pixel, and of the frame smoothed as the scan
// smooths it. In camera JPEG the second is two to three times what white noise would leave.
// Not here: what stands above the background (StarFinder).
using System.Numerics;
using System.Runtime.CompilerServices;
using Hourhinge.Frames.Reading;
using Hourhinge.Numerics;

namespace Hourhinge.Frames.Stars;

/// <summary>Background mesh of a frame.</summary>
public sealed class Background
{
    /// <summary>Side of a cell, pixels.</summary>
    public const int CellPx = 64;

    private readonly int _columns;
    private readonly int _rows;
    private readonly float[] _level;
    private readonly float[] _noise;
    private readonly float[] _smoothedNoise;

    private Background(int width, int height)
    {
        _columns = (width + CellPx - 1) / CellPx;
        _rows = (height + CellPx - 1) / CellPx;
        _level = new float[_columns * _rows];
        _noise = new float[_columns * _rows];
        _smoothedNoise = new float[_columns * _rows];
    }

    /// <summary>Median of the cells' levels.</summary>
    public float MedianLevel { get; private set; }

    /// <summary>Median of the cells' noise.</summary>
    public float MedianNoise { get; private set; }

    /// <summary>Median over the cells of the noise of the smoothed frame, see <see cref="SmoothedNoiseAt"/>.</summary>
    public float MedianSmoothedNoise { get; private set; }

    /// <summary>Measures the background of an image.</summary>
    public static Background Of(FrameImage image)
    {
        var b = new Background(image.Width, image.Height);
        var cell = new CellSample();
        for (int j = 0; j < b._rows; j++)
        {
            for (int i = 0; i < b._columns; i++)
            {
                cell.Load(image, i * CellPx, j * CellPx);
                int k = (j * b._columns) + i;
                (b._level[k], b._noise[k], b._smoothedNoise[k]) = cell.Measure(image.Quantum);
            }
        }
        b.MedianFilter(b._level);
        b.MedianFilter(b._noise);
        b.MedianFilter(b._smoothedNoise);
        b.MedianLevel = Median.InPlace<float>(b._level.ToArray());
        b.MedianNoise = Median.InPlace<float>(b._noise.ToArray());
        b.MedianSmoothedNoise = Median.InPlace<float>(b._smoothedNoise.ToArray());
        return b;
    }

    /// <summary>Noise of one pixel in the cell that holds (x, y).</summary>
    public float NoiseAt(int x, int y) => _noise[Cell(x, y)];

    /// <summary>Noise of the frame smoothed by (1 2 1)/4 along rows and columns, in the cell that holds (x, y). White
    /// noise would have 0.375 of a pixel's.</summary>
    public float SmoothedNoiseAt(int x, int y) => _smoothedNoise[Cell(x, y)];

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

    /// <summary>Takes the background off part of a row, in place.</summary>
    /// <param name="part">Pixels of row <paramref name="y"/>.</param>
    /// <param name="x">Column of the first of them.</param>
    /// <param name="y">The row.</param>
    public void SubtractFrom(Span<float> part, int x, int y)
    {
        (int j, float jPart) = Between(y, _rows);
        ReadOnlySpan<float> upper = _level.AsSpan(j * _columns, _columns);
        ReadOnlySpan<float> lower = j + 1 < _rows ? _level.AsSpan((j + 1) * _columns, _columns) : upper;
        const int Half = CellPx / 2;
        int end = x + part.Length;
        // From the middle of one cell to that of the next; flat before the first and behind the last.
        for (int from = x, to; from < end; from = to)
        {
            int i = from < Half ? -1 : (from - Half) / CellPx;
            (int near, int next) = (Math.Max(i, 0), Math.Min(i + 1, _columns - 1));
            to = Math.Min(Half + ((i + 1) * CellPx), end);
            float left = upper[near] + ((lower[near] - upper[near]) * jPart);
            float slope = (upper[next] + ((lower[next] - upper[next]) * jPart) - left) / CellPx;
            SubtractRamp(part[(from - x)..(to - x)], left + ((from - Half - (i * CellPx) + 0.5f) * slope), slope);
        }
    }

    private int Cell(int x, int y) =>
        (Math.Min(y / CellPx, _rows - 1) * _columns) + Math.Min(x / CellPx, _columns - 1);

    private static (int Index, float Part) Between(int at, int count)
    {
        float f = ((at + 0.5f) / CellPx) - 0.5f;
        int i = Math.Clamp((int)MathF.Floor(f), 0, count - 1);
        return (i, Math.Clamp(f - i, 0, 1));
    }

    /// <summary>Subtracts a straight line: its value at the first element, and its slope.</summary>
    [MethodImpl(MethodImplOptions.AggressiveOptimization)]
    internal static void SubtractRamp(Span<float> part, float start, float slope)
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
