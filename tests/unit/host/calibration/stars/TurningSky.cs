// Truth for the calibration tests: stars on a sphere turned about the pole, a camera turned about a crooked axis by a
// faulty drive, projected on a flat sensor. Whole rotations of vectors, nothing of the estimator's linear formulas.
using Hourhinge.Calibration.Stars;
using Hourhinge.Frames.Stars;

namespace Hourhinge.Tests.Host.Calibration.Stars;

public sealed class TurningSky
{
    // 7.292115e-5 rad/s: IERS Conventions 2010, nominal rotation rate of the Earth.
    private const double Omega = 7.292115e-5;
    private const double Arcsec = 206264.806247;
    private readonly V[] _stars;
    private readonly double[] _flux;
    private readonly V _x0, _y0, _z0;
    private readonly Random _noise;

    public TurningSky(double declinationDeg, double hourAngleDeg, int seed, int starCount = 400, double rollDeg = 25,
        double focalPx = 12820, int width = 6000, int height = 4000, bool mirrored = false)
    {
        (Focal, Width, Height, Mirrored) = (focalPx, width, height, mirrored);
        WestAngle = -rollDeg * Math.PI / 180;
        if (mirrored)
        {
            WestAngle = Math.PI - WestAngle;
        }

        double d = declinationDeg * Math.PI / 180, h = hourAngleDeg * Math.PI / 180, roll = rollDeg * Math.PI / 180;
        // Earth-fixed axes: x to the meridian, y to the east, z to the pole; hour angle counts west.
        _z0 = new V(Math.Cos(d) * Math.Cos(h), -Math.Cos(d) * Math.Sin(h), Math.Sin(d));
        var east = new V(Math.Sin(h), Math.Cos(h), 0);
        var north = V.Cross(_z0, east);
        _x0 = (east * -Math.Cos(roll)) + (north * -Math.Sin(roll));
        _y0 = (east * Math.Sin(roll)) + (north * -Math.Cos(roll));
        var random = new Random(seed);
        _noise = new Random(seed + 1000);
        _stars = new V[starCount];
        _flux = new double[starCount];
        for (int i = 0; i < starCount; i++)
        {
            double u = (random.NextDouble() - 0.5) * width * 1.15 / focalPx, v = (random.NextDouble() - 0.5) * height
                * 1.15 / focalPx;
            V s = _z0 + (_x0 * u) + (_y0 * v);
            _stars[i] = s * (1 / Math.Sqrt(V.Dot(s, s)));
            _flux[i] = 20_000 / (0.01 + random.NextDouble());
        }
    }

    public double Focal { get; }

    public int Width { get; }

    public int Height { get; }

    public bool Mirrored { get; }

    public double WestAngle { get; }

    public double RateError { get; init; }

    public double RateChangePerSec { get; init; }

    public double AxisUpDeg { get; init; }

    public double AxisWestDeg { get; init; }

    public double PeriodicArcsec { get; init; }

    public double PeriodSeconds { get; init; } = 60;

    public double PeriodicPhase { get; init; }

    public bool Stopped { get; init; }

    public (double X, double Y)? Pixel(V starAtZero, double t)
    {
        var star = V.Turn(starAtZero, new V(0, 0, 1), -Omega * t);
        double angle = Stopped ? 0 : (Omega * (t + (RateError * t) + (RateChangePerSec * t * t / 2)))
            + (PeriodicArcsec * Math.Sin((2 * Math.PI * t / PeriodSeconds) + PeriodicPhase) / Arcsec);
        var axis = new V(AxisUpDeg * Math.PI / 180, -AxisWestDeg * Math.PI / 180, 1);
        axis *= 1 / Math.Sqrt(V.Dot(axis, axis));
        double z = V.Dot(star, V.Turn(_z0, axis, -angle));
        if (z <= 0)
        {
            return null;
        }

        double x = Focal * V.Dot(star, V.Turn(_x0, axis, -angle)) / z, y = Focal
            * V.Dot(star, V.Turn(_y0, axis, -angle)) / z;
        return (((Width - 1) / 2.0) + (Mirrored ? -x : x), ((Height - 1) / 2.0) + y);
    }

    /// <summary>The star list of an exposure around time t, centroids averaged over it, with Gaussian errors.</summary>
    public StarField Field(double t, double exposure, double sigmaPx,
        Func<double, double, (double, double)>? spoil = null, double keep = 1)
    {
        var list = new List<Star>();
        for (int i = 0; i < _stars.Length; i++)
        {
            double sx = 0, sy = 0;
            const int Parts = 12;
            for (int k = 0; k < Parts; k++)
            {
                (double X, double Y) p = Pixel(_stars[i], t + (exposure * (((k + 0.5) / Parts) - 0.5)))!.Value;
                (sx, sy) = (sx + (p.X / Parts), sy + (p.Y / Parts));
            }
            (sx, sy) = spoil?.Invoke(sx, sy) ?? (sx, sy);
            sx += sigmaPx * Normal();
            sy += sigmaPx * Normal();
            if (sx > 5 && sy > 5 && sx < Width - 6 && sy < Height - 6 && _noise.NextDouble() < keep)
            {
                list.Add(new Star(sx, sy, _flux[i] * (1 + (0.03 * Normal())), 100, 1.7 / sigmaPx, 1.5, 1.5, 0,
                    StarCautions.None));
            }
        }
        list.Sort((a, b) => b.Flux.CompareTo(a.Flux));
        return new StarField(Width, Height, list, list.Count, Array.Empty<Streak>(), 500, 20, 0, false);
    }

    /// <summary>Trails of an exposure around time t with errors at both ends.</summary>
    public StarField Trails(double t, double exposure, double sigmaPx)
    {
        var list = new List<Streak>();
        foreach (V s in _stars)
        {
            (double X, double Y) a = Pixel(s, t - (exposure / 2))!.Value;
            (double X, double Y) b = Pixel(s, t + (exposure / 2))!.Value;
            if (_noise.Next(2) == 0)
            {
                (a, b) = (b, a);
            }

            if (a.X > 30 && a.Y > 30 && a.X < Width - 30 && a.Y < Height - 30)
            {
                list.Add(new Streak(a.X + (sigmaPx * Normal()), a.Y + (0.4 * sigmaPx * Normal()),
                    b.X + (sigmaPx * Normal()), b.Y + (0.4 * sigmaPx * Normal()), 1.2, 1000, sigmaPx, false));
            }
        }
        return new StarField(Width, Height, Array.Empty<Star>(), 0, list, 500, 20, 0, false);
    }

    /// <summary>The frame centre's motion without star lists, exact.</summary>
    public DriftSample Sample(int index, double t, double exposure, double sigmaPx, double sigmaTurn, double stampError)
    {
        double x = 0, y = 0, turn = 0;
        const int Parts = 16;
        V aside = _z0 + (_x0 * 0.001);
        for (int k = 0; k < Parts; k++)
        {
            double at = t + (exposure * (((k + 0.5) / Parts) - 0.5));
            (double X, double Y) c = Pixel(_z0, at)!.Value;
            (double X, double Y) a = Pixel(aside, at)!.Value;
            (x, y) = (x + ((c.X - ((Width - 1) / 2.0)) / Parts), y + ((c.Y - ((Height - 1) / 2.0)) / Parts));
            turn += (Mirrored
                ? Math.IEEERemainder(Math.Atan2(a.Y - c.Y, a.X - c.X) - Math.PI, 2 * Math.PI)
                : Math.Atan2(a.Y - c.Y, a.X - c.X)) / Parts;
        }
        return new DriftSample($"f{index:D3}", t + stampError, x + (sigmaPx * Normal()), y + (sigmaPx * Normal()),
            turn + (sigmaTurn * Normal()), sigmaPx, sigmaTurn, 0, 200);
    }

    public double Uniform() => _noise.NextDouble();

    public double Normal()
    {
        double u = 1 - _noise.NextDouble(), v = _noise.NextDouble();
        return Math.Sqrt(-2 * Math.Log(u)) * Math.Cos(2 * Math.PI * v);
    }
}

public readonly record struct V(double X, double Y, double Z)
{
    public static V operator +(V a, V b) => new(a.X + b.X, a.Y + b.Y, a.Z + b.Z);

    public static V operator *(V a, double k) => new(a.X * k, a.Y * k, a.Z * k);

    public static double Dot(V a, V b) => (a.X * b.X) + (a.Y * b.Y) + (a.Z * b.Z);

    public static V Cross(V a, V b) =>
        new((a.Y * b.Z) - (a.Z * b.Y), (a.Z * b.X) - (a.X * b.Z), (a.X * b.Y) - (a.Y * b.X));

    public static V Turn(V v, V axis, double angle) =>
        (v * Math.Cos(angle)) + (Cross(axis, v) * Math.Sin(angle)) + (axis * (Dot(axis, v) * (1 - Math.Cos(angle))));
}
