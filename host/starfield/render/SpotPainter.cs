// Paints blurred spots into a plane of expected electrons: each pixel gets the integral of a Gaussian over its square.

using Hourhinge.Starfield.Geometry;
using MathNet.Numerics;

namespace Hourhinge.Starfield.Render;

/// <summary>A plane of expected electrons above the background, row by row from the top. Not thread-safe.</summary>
public sealed class SpotPainter
{
    private const int TablePerSigma = 1024;
    private const double TableSigmas = 8;
    private static readonly double[] _normalCdf = Enumerable.Range(0, (int)(2 * TableSigmas * TablePerSigma) + 2)
        .Select(i => 0.5 * SpecialFunctions.Erfc((TableSigmas - (i / (double)TablePerSigma)) / Math.Sqrt(2))).ToArray();

    // Electrons in a pixel below which a spot's wing is cut off.
    private const double FaintestWing = 0.02;

    private readonly int _width, _height;
    private double[] _across = new double[64], _down = new double[64];

    /// <summary>An empty plane.</summary>
    public SpotPainter(int widthPx, int heightPx)
    {
        (_width, _height) = (widthPx, heightPx);
        Electrons = new float[widthPx * heightPx];
    }

    /// <summary>Expected electrons above the background.</summary>
    public float[] Electrons { get; }

    /// <summary>Empties the plane.</summary>
    public void Clear() => Array.Clear(Electrons);

    /// <summary>
    /// Adds a round Gaussian spot. Given: centre; standard deviation, px; electrons in the whole spot; electrons of the
    /// whole star that it is a part of, which decide how far out its wing is painted.
    /// </summary>
    public void Add(PixelPoint centre, double sigmaPx, double electrons, double electronsOfStar)
    {
        double peak = electronsOfStar / (2 * Math.PI * sigmaPx * sigmaPx);
        // At least three sigmas, however faint the star.
        double sigmas = Math.Sqrt(2 * Math.Log(Math.Max(peak / FaintestWing, 90)));
        double radius = (sigmaPx * Math.Min(TableSigmas - 1, sigmas)) + 0.5;
        int left = (int)Math.Ceiling(Math.Max(0, centre.X - radius));
        int right = (int)Math.Floor(Math.Min(_width - 1, centre.X + radius));
        int top = (int)Math.Ceiling(Math.Max(0, centre.Y - radius));
        int bottom = (int)Math.Floor(Math.Min(_height - 1, centre.Y + radius));
        if (left > right || top > bottom)
        {
            return;
        }

        Slice(ref _across, left, right, centre.X, sigmaPx);
        Slice(ref _down, top, bottom, centre.Y, sigmaPx);
        for (int y = top; y <= bottom; y++)
        {
            double share = electrons * _down[y - top];
            Span<float> row = Electrons.AsSpan((y * _width) + left, right - left + 1);
            for (int i = 0; i < row.Length; i++)
            {
                row[i] += (float)(share * _across[i]);
            }
        }
    }

    /// <summary>Adds electrons to one pixel.</summary>
    public void AddToPixel(int index, double electrons) => Electrons[index] += (float)electrons;

    private static void Slice(ref double[] shares, int from, int to, double centre, double sigma)
    {
        if (shares.Length <= to - from)
        {
            shares = new double[2 * (to - from + 1)];
        }

        double below = Cdf((from - 0.5 - centre) / sigma);
        for (int i = from; i <= to; i++)
        {
            double next = Cdf((i + 0.5 - centre) / sigma);
            shares[i - from] = next - below;
            below = next;
        }
    }

    // Normal distribution function by linear interpolation; error under 4e-8.
    private static double Cdf(double sigmas)
    {
        double place = (Math.Clamp(sigmas, -TableSigmas, TableSigmas) + TableSigmas) * TablePerSigma;
        int i = (int)place;
        return _normalCdf[i] + ((place - i) * (_normalCdf[i + 1] - _normalCdf[i]));
    }
}
