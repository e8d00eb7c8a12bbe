// From expected electrons to the number a pixel stores: shot noise, full well, read noise, converter.
// Pixels of empty sky all share one distribution: it is tabulated once for a frame and drawn from in constant time.

using Hourhinge.Starfield.Scenes;
using MathNet.Numerics;

namespace Hourhinge.Starfield.Render;

/// <summary>The noise of one sensor over one background. Immutable; any number of threads may draw from it.</summary>
public sealed class PixelNoise
{
    private readonly Sensor _sensor;
    private readonly double _background;
    private readonly int _highest, _shift;

    // Walker's alias table: column i gives _first + i with chance _keep[i] / 2^32, else _alias[i].
    private readonly int _first;
    private readonly uint[] _keep;
    private readonly ushort[] _own, _alias;

    /// <summary>Given: sensor; expected electrons of sky and dark current in every pixel, 0 to 10 million.</summary>
    public PixelNoise(Sensor sensor, double backgroundElectrons)
    {
        ArgumentNullException.ThrowIfNull(sensor);
        _sensor = sensor;
        _background = Check.Range(backgroundElectrons, 0, 1e7, "Background (electrons)");
        Check.Range(sensor.GainElectronsPerAdu, 0.01, 1000, "Gain (electrons per data number)");
        Check.Range(sensor.ReadNoiseElectrons, 0, 1000, "Read noise (electrons)");
        Check.Range(sensor.FullWellElectrons, 100, 1e7, "Full well (electrons)");
        _highest = (1 << (int)Check.Range(sensor.BitDepth, 8, 16, "Bit depth")) - 1;
        _shift = sensor.LeftAligned ? 16 - sensor.BitDepth : 0;
        double[] chances = Distribution(out _first);
        (_keep, int[] alias) = AliasTable(chances);
        _own = Enumerable.Range(0, chances.Length).Select(i => Stored(_first + i)).ToArray();
        _alias = alias.Select(i => Stored(_first + i)).ToArray();
    }

    /// <summary>Draws the stored number of a pixel of empty sky.</summary>
    public ushort DrawBackground(Xoshiro256 random)
    {
        ArgumentNullException.ThrowIfNull(random);
        ulong bits = random.NextUInt64();
        // High half picks the column, low half decides between its two numbers.
        int column = (int)(((bits >> 32) * (ulong)_keep.Length) >> 32);
        return (uint)bits < _keep[column] ? _own[column] : _alias[column];
    }

    /// <summary>Draws the stored number of a pixel with more expected electrons than the background's.</summary>
    public ushort Draw(double extraElectrons, Xoshiro256 random)
    {
        ArgumentNullException.ThrowIfNull(random);
        double electrons = Math.Min(random.NextPoisson(_background + extraElectrons), _sensor.FullWellElectrons);
        electrons += _sensor.ReadNoiseElectrons * random.NextNormal();
        return Stored((int)Math.Round((electrons / _sensor.GainElectronsPerAdu) + _sensor.BiasAdu));
    }

    private ushort Stored(int adu) => (ushort)(Math.Clamp(adu, 0, _highest) << _shift);

    // Chance of each converter number: the Poisson law of the electrons smeared by the normal law of the read noise.
    private double[] Distribution(out int first)
    {
        double gain = _sensor.GainElectronsPerAdu, sigma = Math.Max(_sensor.ReadNoiseElectrons, 1e-6);
        double halfWidth = (8 * Math.Sqrt(_background)) + 20;
        int lowK = (int)Math.Max(0, _background - halfWidth), highK = (int)(_background + halfWidth);
        double Adu(double electrons) => (Math.Min(electrons, _sensor.FullWellElectrons) / gain) + _sensor.BiasAdu;
        int reach = (int)Math.Ceiling(7 * sigma / gain) + 1;
        first = (int)Math.Floor(Adu(lowK)) - reach;
        double[] chances = new double[(int)Math.Ceiling(Adu(highK)) + reach - first + 1];
        double Below(double adu, double mean) =>
            0.5 * SpecialFunctions.Erfc((mean - adu) * gain / sigma / Math.Sqrt(2));
        for (int k = lowK; k <= highK; k++)
        {
            double logChance = (k == 0 ? 0 : k * Math.Log(_background)) - _background - SpecialFunctions.GammaLn(k + 1);
            double chance = Math.Exp(logChance), mean = Adu(k);
            int from = (int)Math.Round(mean) - reach + 1;
            double below = Below(from - 0.5, mean);
            for (int adu = from; adu < from + (2 * reach) - 1; adu++)
            {
                double next = Below(adu + 0.5, mean);
                chances[adu - first] += chance * (next - below);
                below = next;
            }
        }
        return chances;
    }

    // Vose's form (1991) of Walker's method: fill each short column from a tall one.
    private static (uint[] Keep, int[] Alias) AliasTable(double[] chances)
    {
        int n = chances.Length;
        double total = chances.Sum();
        double[] height = chances.Select(c => c / total * n).ToArray();
        uint[] keep = new uint[n];
        int[] alias = Enumerable.Range(0, n).ToArray();
        var small = new Stack<int>(Enumerable.Range(0, n).Where(i => height[i] < 1));
        var tall = new Stack<int>(Enumerable.Range(0, n).Where(i => height[i] >= 1));
        Array.Fill(keep, uint.MaxValue);
        while (small.Count > 0 && tall.Count > 0)
        {
            int low = small.Pop(), high = tall.Pop();
            keep[low] = (uint)Math.Min(uint.MaxValue, height[low] * 4294967296.0);
            alias[low] = high;
            height[high] -= 1 - height[low];
            (height[high] < 1 ? small : tall).Push(high);
        }
        return (keep, alias);
    }
}
