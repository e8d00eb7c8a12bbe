// The random numbers of a frame: small, fast, the same on every machine.

namespace Hourhinge.Starfield.Scenes;

/// <summary>
/// xoshiro256** (D. Blackman and S. Vigna, Scrambled linear pseudorandom number generators, ACM TOMS 47, 2021), its
/// state filled by SplitMix64 as its authors advise. Not thread-safe: one for each row of a frame.
/// </summary>
public sealed class Xoshiro256
{
    private ulong _a, _b, _c, _d;
    private double _spareNormal = double.NaN;

    /// <summary>A generator from a seed; every seed is good, neighbouring ones are unrelated.</summary>
    public Xoshiro256(ulong seed)
        : this(SplitMix(ref seed), SplitMix(ref seed), SplitMix(ref seed), SplitMix(ref seed))
    {
    }

    /// <summary>A generator with the four words of its state given; not all may be zero.</summary>
    public Xoshiro256(ulong a, ulong b, ulong c, ulong d) => (_a, _b, _c, _d) = (a, b, c, d);

    /// <summary>One seed out of several numbers, so that a frame and a row each have their own stream.</summary>
    public static ulong Mix(ulong seed, ulong frame, ulong row)
    {
        ulong state = seed;
        state = SplitMix(ref state) ^ frame;
        state = SplitMix(ref state) ^ row;
        return SplitMix(ref state);
    }

    /// <summary>Next word of SplitMix64; the state moves on.</summary>
    public static ulong SplitMix(ref ulong state)
    {
        state += 0x9E3779B97F4A7C15;
        ulong mixed = (state ^ (state >> 30)) * 0xBF58476D1CE4E5B9;
        mixed = (mixed ^ (mixed >> 27)) * 0x94D049BB133111EB;
        return mixed ^ (mixed >> 31);
    }

    /// <summary>64 random bits.</summary>
    public ulong NextUInt64()
    {
        ulong result = ulong.RotateLeft(_b * 5, 7) * 9;
        ulong shifted = _b << 17;
        _c ^= _a;
        _d ^= _b;
        _b ^= _c;
        _a ^= _d;
        _c ^= shifted;
        _d = ulong.RotateLeft(_d, 45);
        return result;
    }

    /// <summary>Uniform in [0, 1) with 53 bits.</summary>
    public double NextDouble() => (NextUInt64() >> 11) * (1.0 / (1UL << 53));

    /// <summary>Normal deviate, mean 0, standard deviation 1 (Box and Muller 1958).</summary>
    public double NextNormal()
    {
        if (!double.IsNaN(_spareNormal))
        {
            double spare = _spareNormal;
            _spareNormal = double.NaN;
            return spare;
        }
        double radius = Math.Sqrt(-2 * Math.Log(1 - NextDouble()));
        (double sin, double cos) = Math.SinCos(2 * Math.PI * NextDouble());
        _spareNormal = radius * sin;
        return radius * cos;
    }

    /// <summary>Mean from which <see cref="NextPoisson"/> takes the rounded normal deviate: skewness there is
    /// 0.06.</summary>
    public const double NormalFrom = 256;

    /// <summary>
    /// Poisson deviate. Given: mean, 0 and up. Under 256 exact, by walking up the cumulative distribution; from there
    /// the normal approximation, rounded.
    /// </summary>
    public int NextPoisson(double mean)
    {
        if (mean >= NormalFrom)
        {
            return (int)Math.Max(0, Math.Round(mean + (Math.Sqrt(mean) * NextNormal())));
        }

        double left = NextDouble(), share = Math.Exp(-mean);
        int k = 0;
        // The bound is far in the tail; it ends the walk where rounding leaves a remainder that no term covers.
        while (left >= share && k < 1000)
        {
            left -= share;
            k++;
            share *= mean / k;
        }
        return k;
    }
}
