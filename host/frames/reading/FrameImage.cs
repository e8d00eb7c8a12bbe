// One frame's pixels in memory: 16-bit counts where the file has them (exact), else 32-bit floats.
// Here: storage, the row-by-row widening to float that everything else works on, and the giving back of buffers.
// Not here: files (FrameReader, FitsReader), stars (StarFinder).
using System.Buffers;
using System.Numerics;
using System.Runtime.CompilerServices;

namespace Hourhinge.Frames.Reading;

/// <summary>A single-channel image. Row 0 is the file's first row; pixel centres lie on whole numbers.</summary>
/// <remarks>48 MB (counts) or 96 MB (floats) for 24 megapixels; <see cref="Dispose"/> hands the buffer back for the
/// next frame. Not for use from several threads while being disposed of; reading in parallel is safe.</remarks>
public sealed class FrameImage : IDisposable
{
    private ushort[]? _counts;
    private float[]? _values;

    private FrameImage(int width, int height, ushort[]? counts, float[]? values, float fullScale, float quantum)
    {
        Width = width;
        Height = height;
        this._counts = counts;
        this._values = values;
        FullScale = fullScale;
        Quantum = quantum;
    }

    /// <summary>Columns, pixels.</summary>
    public int Width { get; }

    /// <summary>Rows, pixels.</summary>
    public int Height { get; }

    /// <summary>Largest value the file's number format can hold; infinity for floating-point files.</summary>
    public float FullScale { get; }

    /// <summary>Smallest step between two values: 1 for 16-bit data, 257 for 8-bit data widened to 16, 0 for
    /// floats.</summary>
    public float Quantum { get; }

    /// <summary>True where the pixels are the file's own 16-bit counts.</summary>
    public bool HoldsCounts => _counts is not null;

    /// <summary>An uncleared image of 16-bit counts.</summary>
    public static FrameImage NewCounts(int width, int height, float quantum = 1) =>
        new(width, height, ArrayPool<ushort>.Shared.Rent(checked(width * height)), null, ushort.MaxValue, quantum);

    /// <summary>An uncleared image of floats.</summary>
    public static FrameImage NewValues(int width, int height) =>
        new(width, height, null, ArrayPool<float>.Shared.Rent(checked(width * height)), float.PositiveInfinity, 0);

    /// <summary>Row <paramref name="y"/> of a counts image, to read or fill.</summary>
    public Span<ushort> CountsRow(int y) => Counts.AsSpan(checked(y * Width), Width);

    /// <summary>Row <paramref name="y"/> of a float image, to read or fill.</summary>
    public Span<float> ValuesRow(int y) => Values.AsSpan(checked(y * Width), Width);

    /// <summary>The value at one pixel.</summary>
    public float this[int x, int y] => _counts is not null ? _counts[(y * Width) + x] : Values[(y * Width) + x];

    /// <summary>Widens part of a row to floats: as many pixels as <paramref name="row"/> holds, from column
    /// <paramref name="x"/>.</summary>
    // The loops over pixels carry this attribute: compiled quickly first, as other methods are, vectors are slow calls.
    [MethodImpl(MethodImplOptions.AggressiveOptimization)]
    public void CopyRow(int y, int x, Span<float> row)
    {
        if (_counts is null)
        {
            ValuesRow(y).Slice(x, row.Length).CopyTo(row);
            return;
        }

        Span<ushort> from = CountsRow(y).Slice(x, row.Length);
        while (from.Length >= Vector<ushort>.Count)
        {
            Vector.Widen(new Vector<ushort>(from), out Vector<uint> low, out Vector<uint> high);
            Vector.ConvertToSingle(Vector.AsVectorInt32(low)).CopyTo(row);
            Vector.ConvertToSingle(Vector.AsVectorInt32(high)).CopyTo(row[Vector<float>.Count..]);
            from = from[Vector<ushort>.Count..];
            row = row[Vector<ushort>.Count..];
        }
        for (int i = 0; i < from.Length; i++)
        {
            row[i] = from[i];
        }
    }

    /// <inheritdoc/>
    public void Dispose()
    {
        if (_counts is not null)
        {
            ArrayPool<ushort>.Shared.Return(_counts);
        }

        if (_values is not null)
        {
            ArrayPool<float>.Shared.Return(_values);
        }

        _counts = null;
        _values = null;
    }

    private ushort[] Counts => _counts ?? throw new InvalidOperationException("This image holds no 16-bit counts.");

    private float[] Values => _values ?? throw new InvalidOperationException("This image holds no floats.");
}
