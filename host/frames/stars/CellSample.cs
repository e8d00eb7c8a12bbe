// A cell's share of the background: its level, the noise of a pixel, and the noise of the smoothed frame. Seven bands
// of three rows are read, nine rows apart, so that they fall on all phases of a JPEG's blocks of eight. A plane is
// taken off first: a sky that brightens towards the horizon is no noise.
// Not here: the mesh of cells (Background).
using System.Numerics;
using System.Runtime.CompilerServices;
using System.Runtime.Intrinsics;
using Hourhinge.Frames.Reading;

namespace Hourhinge.Frames.Stars;

internal sealed class CellSample
{
    private const int Bands = 7;
    private const int BandStep = 9;
    private const int FirstBand = 4;
    private const int Rounds = 4;
    private const float ClipSigma = 3;

    // A Gaussian cut at +-3 sigma has 0.9866 of its standard deviation left.
    private const float ClippedShare = 0.98658f;

    // Standard deviation of rounding to whole steps.
    private const float RoundingSigma = 0.2887f;

    /// <summary>Noise of white noise after smoothing, over that of a pixel: sqrt(6 * 6) / 16.</summary>
    public const float WhiteSmoothed = 0.375f;

    private readonly float[] _pixels = new float[3 * Bands * Background.CellPx];
    private readonly float[] _smoothed = new float[Bands * Background.CellPx];
    private readonly float[] _tall = new float[Background.CellPx];
    private readonly int[] _bandRow = new int[Bands];
    private readonly Vector128<float>[] _quarters = new Vector128<float>[48];
    private readonly int[] _places = new int[48];
    private (int Wide, int High, int Row) _placesOf;
    private int _wide;
    private int _bands;
    private float _centre;

    /// <summary>Reads the cell whose first pixel is (x0, y0).</summary>
    public void Load(FrameImage image, int x0, int y0)
    {
        _wide = Math.Min(Background.CellPx, image.Width - x0);
        int below = Math.Min(y0 + Background.CellPx, image.Height);
        _bands = 0;
        for (int y = Math.Min(y0 + FirstBand, Math.Max(below - 2, 0)); y <= Math.Max(below - 2, 0) && _bands < Bands;
            y += BandStep)
        {
            for (int v = -1; v <= 1; v++)
            {
                image.CopyRow(Math.Clamp(y + v, 0, image.Height - 1), x0,
                    _pixels.AsSpan(((3 * _bands) + v + 1) * _wide, _wide));
            }

            _bandRow[_bands++] = y - y0;
        }
    }

    /// <summary>Level, noise of a pixel, noise of the smoothed frame.</summary>
    /// <param name="quantum">Step between two values of the file; 0 for floats.</param>
    public (float Level, float Noise, float SmoothedNoise) Measure(float quantum)
    {
        float leastNoise = Math.Max(RoundingSigma * quantum, 1e-20f);
        float quartiles = TakePlaneOff();
        Span<float> pixels = _pixels.AsSpan(0, 3 * _bands * _wide);
        (float level, float noise) = Clipped(pixels, 0, Math.Max(quartiles, 2 * leastNoise), leastNoise);
        Span<float> smoothed = Smooth();
        if (smoothed.Length == 0)
        {
            return (_centre + level, noise, noise * WhiteSmoothed);
        }

        // Rounding is as good as white noise here: what is left of it after smoothing is the least there can be.
        (float _, float smoothedNoise) = Clipped(smoothed, level, noise, leastNoise * WhiteSmoothed);
        return (_centre + level, noise, smoothedNoise);
    }

    // The plane through the medians of the cell's quarters; returns the noise by the quarters' quartiles.
    private float TakePlaneOff()
    {
        int rows = 3 * _bands, half = Math.Max(rows / 2, 1), left = Math.Max(_wide / 2, 1);
        int right = _wide - left, bottom = (rows - half) * _wide, n = Math.Min(_quarters.Length, left * half);
        ReadOnlySpan<int> places = Places(left, half, n);
        for (int k = 0; k < n; k++)
        {
            int at = places[k];
            _quarters[k] = Vector128.Create(
                _pixels[at], _pixels[right + at], _pixels[bottom + at], _pixels[bottom + right + at]);
        }

        SortLanes(_quarters.AsSpan(0, n));
        Vector128<float> level = _quarters[n / 2];
        float spread = Vector128.Sum(_quarters[n * 3 / 4] - _quarters[n / 4]) / 1.349f / 4;
        _centre = Vector128.Sum(level) / 4;
        float slopeX = (level[1] + level[3] - level[0] - level[2]) / 2 / Math.Max(right, 1);
        float down = (level[2] + level[3] - level[0] - level[1]) / 2;
        (float topY, float bottomY) = (MeanRow(0, half), MeanRow(rows - half, rows));
        float slopeY = bottomY > topY ? down / (bottomY - topY) : 0, middle = (topY + bottomY) / 2;
        for (int r = 0; r < rows; r++)
        {
            float start = _centre + (slopeY * (RowOf(r) - middle)) - (slopeX * (_wide - 1) / 2);
            Background.SubtractRamp(_pixels.AsSpan(r * _wide, _wide), start, slopeX);
        }

        return spread;
    }

    // Sorts each lane, the same steps for all four: merge exchange, Knuth, The Art of Computer Programming, vol. 3,
    // 2nd ed. (1998), section 5.2.2, algorithm M. A tenth of the time of four sorts.
    [MethodImpl(MethodImplOptions.AggressiveOptimization)]
    private static void SortLanes(Span<Vector128<float>> keys)
    {
        int top = keys.Length < 2 ? 0 : 1 << BitOperations.Log2((uint)keys.Length - 1);
        for (int p = top; p > 0; p /= 2)
        {
            for (int q = top, r = 0, d = p; q >= p; d = q - p, q /= 2, r = p)
            {
                for (int i = 0; i < keys.Length - d; i++)
                {
                    if ((i & p) == r)
                    {
                        (Vector128<float> a, Vector128<float> b) = (keys[i], keys[i + d]);
                        keys[i] = Vector128.MinNative(a, b);
                        keys[i + d] = Vector128.MaxNative(a, b);
                    }
                }
            }
        }
    }

    // Where n samples of a quarter lie, spread evenly. All cells but the last ones of the frame have the same quarters.
    private ReadOnlySpan<int> Places(int wide, int high, int n)
    {
        if (_placesOf != (wide, high, _wide))
        {
            _placesOf = (wide, high, _wide);
            for (int k = 0; k < n; k++)
            {
                int at = (int)((k + 0.5) * wide * high / n);
                _places[k] = (at / wide * _wide) + (at % wide);
            }
        }

        return _places.AsSpan(0, n);
    }

    private int RowOf(int r) => _bandRow[r / 3] + (r % 3) - 1;

    private float MeanRow(int from, int to)
    {
        float sum = 0;
        for (int r = from; r < to; r++)
        {
            sum += RowOf(r);
        }

        return sum / Math.Max(to - from, 1);
    }

    [MethodImpl(MethodImplOptions.AggressiveOptimization)]
    private Span<float> Smooth()
    {
        int n = 0, lanes = Vector<float>.Count;
        for (int band = 0; band < _bands && _wide > 2; band++)
        {
            Span<float> a = _pixels.AsSpan(3 * band * _wide, _wide);
            Span<float> b = _pixels.AsSpan(((3 * band) + 1) * _wide, _wide);
            Span<float> c = _pixels.AsSpan(((3 * band) + 2) * _wide, _wide);
            int i = 0;
            for (; i <= _wide - lanes; i += lanes)
            {
                var m = new Vector<float>(b[i..]);
                (new Vector<float>(a[i..]) + m + m + new Vector<float>(c[i..])).CopyTo(_tall, i);
            }

            for (; i < _wide; i++)
            {
                _tall[i] = a[i] + (2 * b[i]) + c[i];
            }

            const float Share = 1 / 16f;
            for (i = 1; i <= _wide - 1 - lanes; i += lanes, n += lanes)
            {
                var m = new Vector<float>(_tall, i);
                ((new Vector<float>(_tall, i - 1) + m + m + new Vector<float>(_tall, i + 1)) * Share)
                    .CopyTo(_smoothed, n);
            }

            for (; i < _wide - 1; i++, n++)
            {
                _smoothed[n] = (_tall[i - 1] + (2 * _tall[i]) + _tall[i + 1]) * Share;
            }
        }

        return _smoothed.AsSpan(0, n);
    }

    private static (float Level, float Noise) Clipped(ReadOnlySpan<float> cell, float mean, float sigma,
        float leastNoise)
    {
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

    [MethodImpl(MethodImplOptions.AggressiveOptimization)]
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
}
