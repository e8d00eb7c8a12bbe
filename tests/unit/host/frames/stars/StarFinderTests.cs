// Detection and centroids on small pictures of known truth.
using Hourhinge.Frames.Reading;
using Hourhinge.Frames.Stars;
using Xunit.Abstractions;

namespace Hourhinge.Tests.Host.Frames.Stars;

public sealed class StarFinderTests(ITestOutputHelper output)
{
    [Theory]
    [InlineData(0.85)]
    [InlineData(1.2)]
    [InlineData(2.0)]
    public void Bright_stars_are_centred_to_a_few_hundredths_of_a_pixel(double sigma)
    {
        List<TinyStar> truth = TinySky.RandomStars(800, 600, 150, 20_000, 200_000, seed: 1, apart: 20);
        using FrameImage image = new TinySky(800, 600, 200, seed: 2).Draw(truth, sigma).Expose();
        StarField field = StarFinder.Find(image);
        (int found, double rms, int _) = Compare(field, truth);
        double width = field.Stars.Select(s => s.FwhmPx).Order().ElementAt(field.Stars.Count / 2);
        output.WriteLine(
            $"sigma {sigma}: found {found}/150, RMS {rms:F4} px per axis, width {width:F2} px, true "
            + $"{2.3548 * Math.Sqrt((sigma * sigma) + (1 / 12.0)):F2}");
        Assert.True(found >= 147, $"found {found}");
        Assert.InRange(rms, 0, 0.03);
        // Full width of the pixel-integrated Gaussian: variances of star and pixel (1/12 px²) add.
        Assert.InRange(width / (2.3548 * Math.Sqrt((sigma * sigma) + (1 / 12.0))), 0.97, 1.03);
    }

    [Fact]
    public void Centroid_errors_match_the_stated_sigma()
    {
        List<TinyStar> truth = TinySky.RandomStars(900, 700, 250, 3_000, 4_000, seed: 5, apart: 18);
        using FrameImage image = new TinySky(900, 700, 400, seed: 6).Draw(truth, 1.3).Expose();
        StarField field = StarFinder.Find(image);
        var pulls = new List<double>();
        foreach (Star s in field.Stars)
        {
            TinyStar t = truth.MinBy(t => Math.Pow(t.X - s.X, 2) + Math.Pow(t.Y - s.Y, 2))!;
            pulls.Add((s.X - t.X) / s.CentroidSigmaPx);
            pulls.Add((s.Y - t.Y) / s.CentroidSigmaPx);
        }
        double spread = Math.Sqrt(pulls.Average(p => p * p));
        output.WriteLine($"pull spread {spread:F2} over {pulls.Count / 2} stars");
        Assert.InRange(spread, 0.7, 1.4);
    }

    [Fact]
    public void Hot_pixels_are_thrown_out_and_stars_kept()
    {
        List<TinyStar> truth = TinySky.RandomStars(800, 600, 80, 10_000, 100_000, seed: 3, apart: 25);
        using FrameImage image = new TinySky(800, 600, 200, seed: 4).Draw(truth, 1.2).Expose(hotPixels: 300);
        StarField field = StarFinder.Find(image);
        (int found, double _, int strangers) = Compare(field, truth);
        output.WriteLine($"found {found}/80, strangers {strangers}, hot {field.HotPixels}");
        Assert.True(found >= 75, $"found {found}");
        Assert.True(strangers <= 2, $"{strangers} hot pixels taken for stars");
        Assert.InRange(field.HotPixels, 200, 305);
    }

    [Fact]
    public void Empty_noise_has_almost_no_stars()
    {
        using FrameImage image = new TinySky(1000, 1000, 300, seed: 9).Expose();
        Assert.InRange(StarFinder.Find(image).StarCount, 0, 3);
    }

    [Fact]
    public void Background_follows_a_slope()
    {
        using var image = FrameImage.NewValues(640, 480);
        for (int y = 0; y < 480; y++)
        {
            for (int x = 0; x < 640; x++)
            {
                image.ValuesRow(y)[x] = 1000 + (0.5f * x) + (0.2f * y);
            }
        }
        var sky = Background.Of(image);
        Assert.InRange(sky.At(320, 240) - (1000 + 160 + 48), -0.5, 0.5);
        foreach ((int x0, int count) in new[] { (0, 640), (5, 20), (31, 2), (37, 400), (600, 40), (639, 1) })
        {
            float[] part = new float[count];
            image.CopyRow(200, x0, part);
            sky.SubtractFrom(part, x0, 200);
            for (int x = x0; x < x0 + count; x++)
            {
                Assert.InRange(part[x - x0] - (1000 + (0.5f * x) + 40 - sky.At(x, 200)), -0.01, 0.01);
            }
        }
    }

    [Fact]
    public void Saturated_stars_are_flagged_at_the_level_of_12_bit_data()
    {
        List<TinyStar> truth = TinySky.RandomStars(800, 600, 60, 20_000, 3_000_000, seed: 13, apart: 25);
        using FrameImage image = new TinySky(800, 600, 200, seed: 14).Draw(truth, 1.2)
            .Expose(gain: 4, offset: 64, ceiling: 4095);
        StarField field = StarFinder.Find(image);
        foreach (Star s in field.Stars)
        {
            bool full = s.Peak + field.BackgroundLevel > 4080;
            Assert.Equal(full, s.Cautions.HasFlag(StarCautions.Saturated));
        }
        Assert.Contains(field.Stars, s => s.Cautions.HasFlag(StarCautions.Saturated));
    }

    [Theory]
    [InlineData(28, 0.3)]
    [InlineData(60, 1.2)]
    [InlineData(15, -0.8)]
    [InlineData(40, 1.5707)]
    public void Trails_give_length_direction_and_ends(double length, double angle)
    {
        double tx = length * Math.Cos(angle), ty = length * Math.Sin(angle);
        var truth = TinySky.RandomStars(1200, 900, 60, 40_000, 400_000, seed: 21, apart: 90, margin: 60)
            .Select(s => s with { TrailX = tx, TrailY = ty }).ToList();
        using FrameImage image = new TinySky(1200, 900, 200, seed: 22).Draw(truth, 1.2).Expose();
        StarField field = StarFinder.Find(image);
        var lengths = field.Streaks.Select(s => s.LengthPx - length).ToList();
        var turns = field.Streaks.Select(s => Math.IEEERemainder(s.AngleRad - angle, Math.PI)).ToList();
        output.WriteLine(
            $"{field.Streaks.Count}/{truth.Count} streaks; length error mean {lengths.Average():F3} rms "
            + $"{Rms(lengths):F3} px; angle mean {turns.Average():E2} rms {Rms(turns):E2} rad");
        Assert.InRange(field.Streaks.Count, truth.Count - 2, truth.Count);
        Assert.InRange(lengths.Average(), -0.06, 0.06);
        Assert.InRange(Rms(lengths), 0, 0.25);
        Assert.InRange(Rms(turns), 0, 0.15 / length);
    }

    internal static (int Found, double RmsPerAxis, int Strangers) Compare(StarField field, List<TinyStar> truth)
    {
        double sum = 0;
        int found = 0;
        var met = new HashSet<Star>();
        foreach (TinyStar t in truth)
        {
            Star s = field.Stars.MinBy(s => Math.Pow(t.X - s.X, 2) + Math.Pow(t.Y - s.Y, 2));
            double d2 = Math.Pow(t.X - s.X, 2) + Math.Pow(t.Y - s.Y, 2);
            if (d2 > 4)
            {
                continue;
            }

            met.Add(s);
            found++;
            sum += d2;
        }
        return (found, Math.Sqrt(sum / (2 * Math.Max(found, 1))), field.Stars.Count - met.Count);
    }

    private static double Rms(List<double> v) => Math.Sqrt(v.Average(d => d * d));
}
