// Random numbers and noise against their laws. All seeded; bounds are statistical (five standard errors and the like).

using Hourhinge.Starfield.Render;
using Hourhinge.Starfield.Scenes;
using MathNet.Numerics.Distributions;

namespace Hourhinge.Tests.Host.Starfield;

public class NoiseTests
{
    [Fact]
    public void The_generator_gives_its_authors_numbers()
    {
        // State 1, 2, 3, 4 and the seed 1234567: published test values, from memory.
        var random = new Xoshiro256(1, 2, 3, 4);
        Assert.Equal(new ulong[] { 11520, 0, 1509978240, 1215971899390074240 },
            Enumerable.Range(0, 4).Select(_ => random.NextUInt64()));
        ulong state = 1234567;
        Assert.Equal(6457827717110365317UL, Xoshiro256.SplitMix(ref state));
        Assert.Equal(3203168211198807973UL, Xoshiro256.SplitMix(ref state));
    }

    [Theory]
    [InlineData(0.3)]
    [InlineData(4)]
    [InlineData(43.7)]
    [InlineData(255.9)]
    [InlineData(256)]
    [InlineData(5000)]
    public void Poisson_deviates_have_the_mean_and_the_variance_of_their_law(double mean)
    {
        const int N = 400000;
        var random = new Xoshiro256(20270304);
        double sum = 0, squares = 0;
        for (int i = 0; i < N; i++)
        {
            double d = random.NextPoisson(mean) - mean;
            sum += d;
            squares += d * d;
        }
        double m = sum / N, variance = (squares / N) - (m * m);
        Assert.InRange(m, -5 * Math.Sqrt(mean / N), 5 * Math.Sqrt(mean / N));
        // Variance of the sample variance: (mu4 - sigma^4)/N, mu4 = mean + 3 mean^2; rounding adds 1/12 above 256.
        double error = (5 * Math.Sqrt((mean + (2 * mean * mean)) / N)) + (mean >= Xoshiro256.NormalFrom ? 1.0 / 12 : 0);
        Assert.InRange(variance - mean, -error, error);
    }

    [Theory]
    [InlineData(4)]
    [InlineData(43.7)]
    public void Poisson_deviates_pass_a_chi_square_test_against_MathNet(double mean)
    {
        const int N = 400000;
        var random = new Xoshiro256(7);
        int[] counts = new int[1000];
        for (int i = 0; i < N; i++)
        {
            counts[random.NextPoisson(mean)]++;
        }

        var law = new Poisson(mean);
        double chi2 = 0;
        int cells = 0;
        for (int k = 0; k < 200; k++)
        {
            double expected = N * law.Probability(k);
            if (expected < 10)
            {
                continue;
            }

            chi2 += Math.Pow(counts[k] - expected, 2) / expected;
            cells++;
        }
        Assert.InRange(1 - ChiSquared.CDF(cells - 1, chi2), 1e-3, 1);
    }

    [Theory]
    [InlineData(0.4, 3, 2)]
    [InlineData(27, 3, 2)]
    [InlineData(43.7, 1.5, 0.5)]
    [InlineData(2500, 8, 1.3)]
    public void Background_pixels_have_mean_and_variance_of_photon_transfer(double electrons, double readNoise,
        double gain)
    {
        // Photon transfer, common to every text on detectors: mean = N/g + bias, variance = (N + r^2)/g^2 + 1/12 (the
        // converter's rounding, Bennett 1948). Tabulated draw and single draw must both obey it.
        var sensor = new Sensor(8, 8, 3.9) { ReadNoiseElectrons = readNoise, GainElectronsPerAdu = gain };
        var random = new Xoshiro256(99);
        double law = (electrons / gain) + sensor.BiasAdu;
        double variance = ((electrons + (readNoise * readNoise)) / gain / gain) + (1.0 / 12);
        PixelNoise table = new(sensor, electrons), single = new(sensor, electrons / 2);
        Func<double> drawTable = () => table.DrawBackground(random), drawSingle = () =>
            single.Draw(electrons / 2, random);
        foreach (Func<double> draw in new[] { drawTable, drawSingle })
        {
            const int N = 400000;
            double[] sample = Enumerable.Range(0, N).Select(_ => draw() - law).ToArray();
            double m = sample.Average(), v = sample.Sum(d => (d - m) * (d - m)) / (N - 1);
            Assert.InRange(m, -5 * Math.Sqrt(variance / N), 5 * Math.Sqrt(variance / N));
            double kurtosisTerm = electrons / Math.Pow(gain, 4);
            double error = (5 * Math.Sqrt(((2 * variance * variance) + kurtosisTerm) / N)) + (0.1 / gain / gain);
            Assert.InRange(v - variance, -error, error);
        }
    }

    [Fact]
    public void Both_ways_of_drawing_follow_one_distribution()
    {
        // Two-sample Kolmogorov-Smirnov at the 0.001 level.
        var sensor = new Sensor(8, 8, 3.9) { GainElectronsPerAdu = 0.7 };
        const int N = 200000;
        var random = new Xoshiro256(3);
        PixelNoise table = new(sensor, 40), single = new(sensor, 15);
        int[] a = new int[65536];
        int[] b = new int[65536];
        for (int i = 0; i < N; i++)
        {
            a[table.DrawBackground(random)]++;
            b[single.Draw(25, random)]++;
        }
        double gap = 0, sumA = 0, sumB = 0;
        for (int i = 0; i < a.Length; i++)
        {
            gap = Math.Max(gap, Math.Abs((sumA += a[i]) - (sumB += b[i])) / N);
        }

        Assert.InRange(gap, 0, 1.95 * Math.Sqrt(2.0 / N));
    }

    [Fact]
    public void A_full_well_and_the_converter_both_clip()
    {
        var sensor =
            new Sensor(8, 8, 3.9) { FullWellElectrons = 1000, GainElectronsPerAdu = 1, BiasAdu = 100, BitDepth = 12 };
        var random = new Xoshiro256(1);
        var noise = new PixelNoise(sensor, 10);
        double mean = Enumerable.Range(0, 10000).Average(_ => noise.Draw(1e6, random));
        Assert.InRange(mean, 1100 - 0.2, 1100 + 0.2);
        var small = new PixelNoise(sensor with { FullWellElectrons = 1e6 }, 10);
        Assert.Equal(4095, small.Draw(1e6, random));
        var left = new PixelNoise(sensor with { FullWellElectrons = 1e6, LeftAligned = true }, 10);
        Assert.Equal(4095 * 16, left.Draw(1e6, random));
        Assert.Equal(0, left.DrawBackground(random) % 16);
    }
}
