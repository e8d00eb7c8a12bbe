using System.Runtime.CompilerServices;
using Hourhinge.Numerics;

namespace Hourhinge.Recognition;

/// <summary>The sources of a frame, brightest first, with places relative to the frame's centre.</summary>
internal sealed class ImageStars
{
    private readonly double[] _crowding;
    private readonly double[] _sortedX;
    private readonly int[] _byX;

    /// <summary>Takes the brightest sources with a place in the frame.</summary>
    /// <param name="stars">Sources.</param>
    /// <param name="width">Columns.</param>
    /// <param name="height">Rows.</param>
    /// <param name="max">How many are kept.</param>
    public ImageStars(IReadOnlyList<ImageStar> stars, int width, int height, int max)
    {
        (Width, Height) = (width, height);
        Source = [.. Enumerable.Range(0, stars.Count)
            .Where(i => double.IsFinite(stars[i].X) && double.IsFinite(stars[i].Y) && stars[i].Flux > 0
                && double.IsFinite(stars[i].Flux)
                && stars[i].X >= -0.5 && stars[i].Y >= -0.5 && stars[i].X <= width && stars[i].Y <= height)
            .OrderByDescending(i => stars[i].Flux).ThenBy(i => i).Take(max)];
        X = [.. Source.Select(i => stars[i].X - ((width - 1) / 2.0))];
        Y = [.. Source.Select(i => stars[i].Y - ((height - 1) / 2.0))];
        Magnitude = [.. Source.Select(i => -2.5 * Math.Log10(stars[i].Flux))];
        SigmaPx = [.. Source.Select(i => stars[i].SigmaPx)];
        _crowding = new double[Count];
        _sortedX = [.. X];
        _byX = [.. Enumerable.Range(0, Count)];
        Array.Sort(_sortedX, _byX);
    }

    /// <summary>Number of sources.</summary>
    public int Count => Source.Length;

    /// <summary>Columns of the frame.</summary>
    public int Width { get; }

    /// <summary>Rows of the frame.</summary>
    public int Height { get; }

    /// <summary>Half the diagonal.</summary>
    public double HalfDiagonal => Math.Sqrt(((double)Width * Width) + ((double)Height * Height)) / 2;

    /// <summary>Index of each source in the list given.</summary>
    public int[] Source { get; }

    /// <summary>Columns right of the centre.</summary>
    public double[] X { get; }

    /// <summary>Rows below the centre.</summary>
    public double[] Y { get; }

    /// <summary>Magnitude with an arbitrary zero point.</summary>
    public double[] Magnitude { get; }

    /// <summary>Expected error of a place along one axis; 0 where unknown.</summary>
    public double[] SigmaPx { get; }

    /// <summary>
    /// Sources per square pixel around a source, at least the frame's mean: by chance a catalogue star falls on a
    /// source more often where sources crowd (landscape, compression blocks).
    /// </summary>
    [MethodImpl(MethodImplOptions.AggressiveOptimization)]
    public double Crowding(int star)
    {
        if (_crowding[star] > 0)
        {
            return _crowding[star];
        }

        const int Near = 6;
        double mean = Count / ((double)Width * Height);
        // The source itself is the first of them.
        var nearest = new NearestFew(stackalloc double[Near + 1], stackalloc int[Near + 1]);
        for (int i = 0; i < Count; i++)
        {
            nearest.Offer(Square(star, i), i);
        }

        double local = Count > Near ? Near / (Math.PI * Math.Max(nearest.FarthestSquare, 1)) : 0;
        return _crowding[star] = Math.Max(mean, local);
    }

    /// <summary>Sources in a strip of columns: of these only can one lie near a place.</summary>
    /// <param name="x">Its middle.</param>
    /// <param name="half">Half its width, px.</param>
    public ReadOnlySpan<int> Strip(double x, double half)
    {
        int from = Array.BinarySearch(_sortedX, x - half), to = from < 0 ? from = ~from : from;
        while (to < Count && _sortedX[to] <= x + half)
        {
            to++;
        }

        return _byX.AsSpan(from, to - from);
    }

    /// <summary>Nearest sources that are brighter than a magnitude, nearest first, without the source itself.</summary>
    public int[] Nearest(int star, double faintest, int count)
    {
        int n = 0;
        while (n < Count && Magnitude[n] <= faintest)
        {
            n++;
        }

        double[] squares = new double[n];
        int[] order = new int[n];
        for (int i = 0; i < n; i++)
        {
            (squares[i], order[i]) = (i == star ? double.PositiveInfinity : Square(star, i), i);
        }

        Array.Sort(squares, order);
        return order[..Math.Max(0, Math.Min(count, star < n ? n - 1 : n))];
    }

    /// <summary>Square of the distance between two sources.</summary>
    public double Square(int a, int b)
    {
        double dx = X[a] - X[b], dy = Y[a] - Y[b];
        return (dx * dx) + (dy * dy);
    }

    /// <summary>Direction of a source in the camera's axes.</summary>
    /// <param name="star">Source.</param>
    /// <param name="focalLengthPx">Focal length.</param>
    /// <param name="lens">Distortion.</param>
    /// <param name="mirrored">Whether x counts to the left.</param>
    /// <param name="axis">Where the lens's axis meets the frame.</param>
    public Vector3 Direction(int star, double focalLengthPx, LensDistortion lens, bool mirrored, OpticalAxis axis)
    {
        double x = (X[star] - axis.X) / focalLengthPx, y = (Y[star] - axis.Y) / focalLengthPx;
        if (lens != LensDistortion.None)
        {
            double drawn = Math.Sqrt((x * x) + (y * y)), r = lens.Undistort(drawn);
            // Beyond the model's range the undistorted place is as good as any: such a source will match nothing.
            double scale = drawn > 0 && !double.IsNaN(r) ? r / drawn : 1;
            (x, y) = (x * scale, y * scale);
        }

        double length = Math.Sqrt((x * x) + (y * y) + 1);
        return new Vector3((mirrored ? -x : x) / length, y / length, 1 / length);
    }
}
