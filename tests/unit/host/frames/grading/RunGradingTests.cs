// Grades against the run: what all frames share, what stands still, how much light arrives, rich fields, 8-bit files,
// and six photographs of a standing camera.
using Hourhinge.Frames.Grading;
using Hourhinge.Frames.Reading;
using Hourhinge.Frames.Stars;
using Hourhinge.Tests.Support;
using SixLabors.ImageSharp;
using SixLabors.ImageSharp.PixelFormats;
using Xunit.Abstractions;

namespace Hourhinge.Tests.Host.Frames.Grading;

public sealed class RunGradingTests(ITestOutputHelper output)
{
    private const int Width = 600;
    private const int Height = 400;

    [Fact]
    public void Frames_of_a_rich_field_are_kept()
    {
        // 0.0067 stars a pixel: 41 a square degree through 24 mm on 24 megapixels.
        GradedFrames graded = Run(3, k => Frame(TinySky.RandomStars(Width, Height, 1600, 500, 300_000, 5), 1.0, k));
        Print(graded);
        Assert.All(graded.Frames, f => Assert.Equal(FrameGrade.Keep, f.Grade));
    }

    [Fact]
    public void An_elongation_of_all_frames_is_told_and_drops_none()
    {
        var stars = Stars().Select(s => Trailed(s, 2.2, 0.5)).ToList();
        GradedFrames graded = Run(5, k => Frame(k == 3 ? [.. Stars().Select(s => Trailed(s, 4, 2.0))] : stars, 1.1, k));
        Print(graded);
        Assert.InRange(graded.CommonElongationPx, 1.9, 2.5);
        Assert.Contains("cannot tell which", Assert.Single(graded.Remarks), StringComparison.Ordinal);
        Assert.Equal("Keep Keep Keep Drop Keep", string.Join(" ", graded.Frames.Select(f => f.Grade)));
    }

    [Fact]
    public void Lost_light_is_seen_by_the_stars_and_a_capped_lens_has_none()
    {
        double[] light = [1, 1, 0.95, 0.55, 0.25, 0.1, 0.03, 1, 1, 0];
        GradedFrames graded = Run(light.Length, k => Frame([.. Stars().Where(_ => light[k] > 0)
            .Select(s => s with { Electrons = s.Electrons * light[k] })], 1.1, k, 150));
        Print(graded);
        string grades = string.Join(" ", graded.Frames.Select(f => f.Grade));
        Assert.Equal("Keep Keep Keep Doubt Drop Drop Drop Keep Keep Drop", grades);
        Assert.InRange(graded.Frames[3].Transparency!.Value, 0.5, 0.6);
    }

    [Fact]
    public void No_shape_is_judged_by_few_stars()
    {
        GradedFrames graded = Run(4, k => Frame([.. TinySky.RandomStars(Width, Height, 9, 5_000, 100_000, 3, apart: 30)
            .Select(s => Trailed(s, 3, 0.7 * k))], 1.1, k));
        Print(graded);
        Assert.All(graded.Frames, f => Assert.Equal(FrameGrade.Doubt, f.Grade));
        Assert.All(graded.Frames, f => Assert.DoesNotContain("trailed", f.Reason, StringComparison.Ordinal));
    }

    [Fact]
    public void Eight_bit_PNG_shows_the_trail_as_JPEG_does()
    {
        DirectoryInfo folder = Directory.CreateTempSubdirectory("bits-");
        try
        {
            using FrameImage image = new TinySky(Width, Height, 200, 7)
                .Draw(Stars().Select(s => Trailed(s, 3, 0.5)), 1.1).Expose();
            using var picture = new Image<L8>(Width, Height);
            for (int y = 0; y < Height; y++)
            {
                for (int x = 0; x < Width; x++)
                {
                    // Steps of four times the noise.
                    picture[x, y] = new L8((byte)Math.Clamp((image[x, y] - 100) / 60, 0, 255));
                }
            }

            picture.SaveAsPng(Path.Combine(folder.FullName, "a.png"));
            picture.SaveAsJpeg(Path.Combine(folder.FullName, "b.jpg"));
            IReadOnlyList<FrameMeasures> measures =
                GradingRun.Measure(FrameReader.FindFrames(folder.FullName), FrameOverrides.None, null);
            output.WriteLine(
                string.Join("; ", measures.Select(m => $"{m.Name} {m.Stars} stars, trail {m.TrailPx:F2}")));
            Assert.All(measures, m => Assert.InRange(m.TrailPx, 2.5, 3.6));
        }
        finally
        {
            folder.Delete(true);
        }
    }

    /// <summary>Truth: the camera stood still, exposures of 60 s, trails of 4 to 6 px (../photographs/README.md: the
    /// sky's rate over 1362 px of focal length at declination -45).</summary>
    [Fact]
    public void A_standing_camera_is_told_from_a_lens()
    {
        IReadOnlyList<FrameMeasures> measures = GradingRun.Measure(FrameReader.FindFrames(RepositoryFile.Path(
            "tests/reference/photographs/fixed-24mm")), FrameOverrides.None, null);
        GradedFrames graded = FrameGrader.GradeRun(measures);
        Print(graded);
        Assert.Contains(graded.Remarks, r => r.Contains("does not follow the sky", StringComparison.Ordinal));
        Assert.All(graded.Frames, f => Assert.InRange(f.Measures.TrailPx, 4, 7));
        Assert.All(graded.Frames, f => Assert.DoesNotContain("lens changed", f.Reason, StringComparison.Ordinal));
        Assert.All(graded.Frames, f => Assert.NotNull(f.Transparency));
        // The haze grows.
        Assert.True(graded.Frames[5].Transparency < graded.Frames[1].Transparency - 0.05);
    }

    private static List<TinyStar> Stars() => TinySky.RandomStars(Width, Height, 90, 6_000, 400_000, 11, apart: 16);

    private static TinyStar Trailed(TinyStar s, double length, double angle) =>
        s with { TrailX = length * Math.Cos(angle), TrailY = length * Math.Sin(angle) };

    private static FrameMeasures Frame(List<TinyStar> stars, double sigma, int seed, int hot = 0)
    {
        using FrameImage image = new TinySky(Width, Height, 200, seed).Draw(stars, sigma).Expose(hotPixels: hot);
        return FrameMeasures.Of(StarFinder.Find(image), new FrameInfo($"f{seed}", null, 1, 30, null, null));
    }

    private static GradedFrames Run(int count, Func<int, FrameMeasures> frame) =>
        FrameGrader.GradeRun([.. Enumerable.Range(0, count).Select(frame)]);

    private void Print(GradedFrames run)
    {
        foreach (GradedFrame f in run.Frames)
        {
            output.WriteLine($"{f.Measures.Name}: {f.Reason} trail {f.Measures.TrailPx:F2} light {f.Transparency:F2}");
        }

        output.WriteLine(string.Join("\n", run.Remarks));
    }
}
