// Small test pictures with known truth: Gaussian stars integrated over each pixel, drawn still or along a straight
// path, plus photon and read noise, hot pixels, offset. For the tests and the benchmark of this folder only.
using Hourhinge.Frames.Reading;

namespace Hourhinge.Tests.Host.Frames;

public sealed record TinyStar(double X, double Y, double Electrons, double TrailX = 0, double TrailY = 0);

public sealed class TinySky
{
    private readonly float[] _electrons;
    private readonly Random _random;

    public TinySky(int width, int height, double skyElectrons, int seed)
    {
        (Width, Height) = (width, height);
        _electrons = new float[width * height];
        Array.Fill(_electrons, (float)skyElectrons);
        _random = new Random(seed);
    }

    public int Width { get; }

    public int Height { get; }

    /// <summary>Stars over the whole field with a power law of brightness, at least apart by the given
    /// distance.</summary>
    public static List<TinyStar> RandomStars(int width, int height, int count, double faintest, double brightest,
        int seed,
        double apart = 0, double margin = 20)
    {
        var random = new Random(seed);
        var stars = new List<TinyStar>();
        var taken = new HashSet<(int, int)>();
        for (int tries = 0; stars.Count < count && tries < count * 50; tries++)
        {
            double x = margin + (random.NextDouble() * (width - (2 * margin))), y = margin
                + (random.NextDouble() * (height - (2 * margin)));
            if (apart > 0)
            {
                (int i, int j) = ((int)(x / apart), (int)(y / apart));
                bool crowded = false;
                for (int v = -1; v <= 1; v++)
                {
                    for (int u = -1; u <= 1; u++)
                    {
                        crowded |= taken.Contains((i + u, j + v));
                    }
                }
                if (crowded)
                {
                    continue;
                }

                taken.Add((i, j));
            }
            // Star counts grow about fourfold for each magnitude-and-a-half: flux^-1 cumulative.
            double part = random.NextDouble();
            stars.Add(new TinyStar(x, y, 1 / ((part / faintest) + ((1 - part) / brightest))));
        }
        return stars;
    }

    public TinySky Draw(IEnumerable<TinyStar> stars, double sigmaPx)
    {
        foreach (TinyStar s in stars)
        {
            double length = Math.Sqrt((s.TrailX * s.TrailX) + (s.TrailY * s.TrailY));
            int steps = Math.Max(1, (int)Math.Ceiling(length * 4 / Math.Max(sigmaPx, 0.5)));
            for (int k = 0; k < steps; k++)
            {
                double t = ((k + 0.5) / steps) - 0.5;
                Stamp(s.X + (t * s.TrailX), s.Y + (t * s.TrailY), s.Electrons / steps, sigmaPx);
            }
        }
        return this;
    }

    public FrameImage Expose(double readNoise = 3, double gain = 1, double offset = 500, int hotPixels = 0,
        int ceiling = 65535)
    {
        var image = FrameImage.NewCounts(Width, Height);
        for (int y = 0; y < Height; y++)
        {
            Span<ushort> row = image.CountsRow(y);
            for (int x = 0; x < Width; x++)
            {
                double mean = _electrons[(y * Width) + x];
                row[x] = (ushort)Math.Clamp(Math.Round(offset + ((Poisson(mean) + (readNoise * Normal())) / gain)), 0,
                    ceiling);
            }
        }
        for (int k = 0; k < hotPixels; k++)
        {
            image.CountsRow(_random.Next(Height))[_random.Next(Width)] =
                (ushort)Math.Min(ceiling, offset + _random.Next(500, 20000));
        }

        return image;
    }

    public double Normal()
    {
        double u = 1 - _random.NextDouble(), v = _random.NextDouble();
        return Math.Sqrt(-2 * Math.Log(u)) * Math.Cos(2 * Math.PI * v);
    }

    // Above 30 electrons a rounded Gaussian of the same variance is a Poisson draw for every purpose here.
    private double Poisson(double mean)
    {
        if (mean > 30)
        {
            return Math.Max(0, Math.Round(mean + (Math.Sqrt(mean) * Normal())));
        }

        double limit = Math.Exp(-mean), product = _random.NextDouble();
        int n = 0;
        for (; product > limit; n++)
        {
            product *= _random.NextDouble();
        }

        return n;
    }

    private void Stamp(double cx, double cy, double flux, double sigma)
    {
        int reach = (int)Math.Ceiling(6 * sigma) + 1, x0 = (int)Math.Round(cx), y0 = (int)Math.Round(cy);
        double[] wx = Shares(x0 - reach, (2 * reach) + 1, cx, sigma);
        double[] wy = Shares(y0 - reach, (2 * reach) + 1, cy, sigma);
        for (int v = 0; v < wy.Length; v++)
        {
            int y = y0 - reach + v;
            if (y < 0 || y >= Height)
            {
                continue;
            }

            for (int u = 0; u < wx.Length; u++)
            {
                int x = x0 - reach + u;
                if (x >= 0 && x < Width)
                {
                    _electrons[(y * Width) + x] += (float)(flux * wx[u] * wy[v]);
                }
            }
        }
    }

    private static double[] Shares(int first, int count, double centre, double sigma)
    {
        double[] share = new double[count];
        double s = sigma * Math.Sqrt(2), before = MathNet.Numerics.SpecialFunctions.Erf((first - 0.5 - centre) / s);
        for (int i = 0; i < count; i++)
        {
            double after = MathNet.Numerics.SpecialFunctions.Erf((first + i + 0.5 - centre) / s);
            share[i] = (after - before) / 2;
            before = after;
        }
        return share;
    }
}
