// How deep a stack goes, against arithmetic by hand and a simulated stack.
using Hourhinge.Planning;

namespace Hourhinge.Tests.Host.Planning;

public sealed class DepthTests
{
    private static readonly StackDepth _depth = new(4, 135, 5.9, 3, 21, 0.4);

    [Fact]
    public void A_star_of_magnitude_0_sends_880_000_photons_a_second_and_square_centimetre()
    {
        // By energy instead of by jansky: 3.63e-9 erg/s/cm²/Å at V = 0 over 880 Å, each photon hc/λ at 5500 Å =
        // 3.61e-12 erg (from memory; the handbooks differ by 3 %).
        const double Expected = 3.63e-9 * 880 / 3.612e-12;
        Assert.InRange(StackDepth.PhotonsPerSecM2 / 1e4, Expected * 0.97, Expected * 1.03);
    }

    [Fact]
    public void Electrons_come_from_pupil_area_pixel_area_and_brightness()
    {
        // 33.75 mm pupil: 8.946 cm²; 9.015" pixel: 81.26 square arcsec; magnitude 21: 10^-8.4.
        double expected = 8.79e5 * 8.946 * 81.26 * Math.Pow(10, -8.4) * 0.4;
        Assert.InRange(_depth.ElectronsPerSec(21), expected * 0.995, expected * 1.005);
        Assert.Equal(100, _depth.ElectronsPerSec(16) / _depth.ElectronsPerSec(21), 6);
    }

    [Fact]
    public void Signal_to_noise_grows_with_the_root_of_the_number_of_frames()
    {
        double one = _depth.SignalToNoise(23, 120, 1);
        foreach (int n in new[] { 4, 25, 100 })
        {
            Assert.Equal(one * Math.Sqrt(n), _depth.SignalToNoise(23, 120, n), 9);
        }

        double frames = _depth.FramesFor(23, 120, 10);
        Assert.True(_depth.SignalToNoise(23, 120, frames) >= 10);
        Assert.True(_depth.SignalToNoise(23, 120, frames - 1) < 10);
    }

    [Fact]
    public void From_the_sky_limited_exposure_on_read_noise_adds_five_percent()
    {
        double t = _depth.SkyLimitedSec(), sky = _depth.ElectronsPerSec(21) * t;
        Assert.Equal(1.05, Math.Sqrt(sky + 9) / Math.Sqrt(sky), 9);
        // So one long frame and many such frames of the same total time reach nearly the same.
        double many = _depth.SignalToNoise(25, t, 50), one = _depth.SignalToNoise(25, 50 * t, 1);
        Assert.InRange(one / many, 1, 1.05);
    }

    [Fact]
    public void A_simulated_stack_has_the_noise_that_the_equation_says()
    {
        // 4000 pixels, each the sum of 16 frames: Poisson light and sky, Gaussian read noise; noise known to 1.2 %.
        var random = new Random(11);
        double light = _depth.ElectronsPerSec(20) * 60, sky = _depth.ElectronsPerSec(21) * 60;
        double[] stack = [.. Enumerable.Range(0, 4000).Select(_ => Enumerable.Range(0, 16).Sum(_ =>
            MathNet.Numerics.Distributions.Poisson.Sample(random, light + sky) - sky
            + MathNet.Numerics.Distributions.Normal.Sample(random, 0, 3)))];
        double mean = stack.Average(), deviation =
            Math.Sqrt(stack.Sum(v => (v - mean) * (v - mean)) / (stack.Length - 1));
        double expected = _depth.SignalToNoise(20, 60, 16);
        Assert.InRange(mean / deviation, expected * 0.95, expected * 1.05);
    }
}
