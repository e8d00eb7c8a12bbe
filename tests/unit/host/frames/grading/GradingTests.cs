// Grading against known trailing, clouds, focus; the state file; the order.
using Hourhinge.Frames.Grading;
using Hourhinge.Frames.Reading;
using Hourhinge.Frames.Stars;
using Xunit.Abstractions;

namespace Hourhinge.Tests.Host.Frames.Grading;

public sealed class GradingTests(ITestOutputHelper output)
{
    [Fact]
    public void Every_frame_trailed_by_2_px_is_found_and_none_below_half_a_pixel_is_dropped()
    {
        // Small frames (512 by 384, 50 stars, seeing 0.9 to 1.5 px): trails of 0 to 6 px in all directions.
        int frames = int.TryParse(Environment.GetEnvironmentVariable("HOURHINGE_GRADING"), out int n) ? n : 150;
        var measures = new FrameMeasures[frames];
        double[] truth = new double[frames];
        Parallel.For(0, frames, new ParallelOptions { MaxDegreeOfParallelism = 2 }, i =>
        {
            var random = new Random(7000 + i);
            truth[i] = i % 3 == 0 ? 0.5 * random.NextDouble() : 6 * random.NextDouble();
            double angle = Math.PI * random.NextDouble(), sigma = 1.0 + (0.2 * random.NextDouble());
            IEnumerable<TinyStar> stars = TinySky.RandomStars(512, 384, 50, 2_000, 200_000, 8000 + i, apart: 16)
                .Select(s => s with { TrailX = truth[i] * Math.Cos(angle), TrailY = truth[i] * Math.Sin(angle) });
            using FrameImage image = new TinySky(512, 384, 200, i).Draw(stars, sigma).Expose(hotPixels: 20);
            measures[i] = FrameMeasures.Of(StarFinder.Find(image), Info($"f{i:D3}"));
        });
        IReadOnlyList<GradedFrame> graded = FrameGrader.Grade(measures);
        int missed = 0, wronged = 0, over = 0, under = 0;
        double worst = 0;
        for (int i = 0; i < frames; i++)
        {
            bool dropped = graded[i].Grade == FrameGrade.Drop;
            over += truth[i] > 2 ? 1 : 0;
            under += truth[i] < 0.5 ? 1 : 0;
            missed += truth[i] > 2 && !dropped ? 1 : 0;
            wronged += truth[i] < 0.5 && dropped ? 1 : 0;
            if (truth[i] is > 1 and < 4)
            {
                worst = Math.Max(worst, Math.Abs(measures[i].TrailPx - truth[i]));
            }

            if ((truth[i] > 2 && !dropped) || (truth[i] < 0.5 && graded[i].Grade != FrameGrade.Keep))
            {
                output.WriteLine($"{i}: truth {truth[i]:F2}, measured {measures[i].TrailPx:F2}, {graded[i].Reason}");
            }
        }
        output.WriteLine(
            $"{frames} frames: {over} trailed by more than 2 px, {missed} of them not dropped; {under} below 0.5 "
            + $"px, {wronged} of them dropped; largest error between 1 and 4 px {worst:F2} px");
        Assert.Equal(0, missed);
        Assert.Equal(0, wronged);
    }

    [Theory]
    [InlineData(0.6, "along the sky's motion")]
    [InlineData(0.6 + (Math.PI / 2), "across the sky's motion")]
    [InlineData(0.6 + (Math.PI / 4), "slanting")]
    public void The_direction_of_the_trail_names_who_did_it(double angle, string words)
    {
        IEnumerable<TinyStar> stars = TinySky.RandomStars(512, 384, 60, 5_000, 200_000, 1, apart: 16)
            .Select(s => s with { TrailX = 3 * Math.Cos(angle), TrailY = 3 * Math.Sin(angle) });
        using FrameImage image = new TinySky(512, 384, 200, 2).Draw(stars, 1.1).Expose();
        IReadOnlyList<GradedFrame> graded = FrameGrader.Grade(
            new[] { FrameMeasures.Of(StarFinder.Find(image), Info("a")) }, westAngleRad: 0.6 + Math.PI);
        output.WriteLine(graded[0].Reason);
        Assert.Equal(FrameGrade.Drop, graded[0].Grade);
        Assert.Contains(words, graded[0].Reason, StringComparison.Ordinal);
    }

    [Fact]
    public void Clouds_focus_moonlight_and_planes_are_told_apart()
    {
        FrameMeasures Good(string name) => new(name, 1, 1, "", null, 30, 800, 2.6, 1.05, 0.2, 0, 500, 20, 0, false);
        var run = Enumerable.Range(0, 10).Select(i => Good($"g{i}")).ToList();
        run.Add(Good("cloud") with { Stars = 150 });
        run.Add(Good("haze") with { Stars = 450 });
        run.Add(Good("focus") with { FwhmPx = 5.5 });
        run.Add(Good("moon") with { Background = 1200 });
        run.Add(Good("plane") with { LongestStreakPx = 900 });
        run.Add(Good("broken") with { Error = "broken: truncated." });
        var graded = FrameGrader.Grade(run).ToDictionary(g => g.Measures.Name);
        foreach (GradedFrame? g in graded.Values.Skip(9))
        {
            output.WriteLine($"{g.Measures.Name}: {g.Reason}");
        }

        Assert.All(graded.Values.Take(10), g => Assert.Equal(FrameGrade.Keep, g.Grade));
        Assert.Equal(FrameGrade.Drop, graded["cloud"].Grade);
        Assert.Equal(FrameGrade.Doubt, graded["haze"].Grade);
        Assert.Equal(FrameGrade.Drop, graded["focus"].Grade);
        Assert.Equal(FrameGrade.Doubt, graded["moon"].Grade);
        Assert.Equal(FrameGrade.Doubt, graded["plane"].Grade);
        Assert.Equal(FrameGrade.Drop, graded["broken"].Grade);
    }

    [Fact]
    public void A_stopped_run_goes_on_where_it_was_and_keeps_the_order()
    {
        DirectoryInfo folder = Directory.CreateTempSubdirectory("Frames-");
        try
        {
            for (int i = 0; i < 6; i++)
            {
                List<TinyStar> stars = TinySky.RandomStars(256, 200, 20, 5_000, 100_000, i, apart: 16);
                using FrameImage image = new TinySky(256, 200, 200, i).Draw(stars, 1.2).Expose();
                using FileStream file = File.Create(Path.Combine(folder.FullName, $"n{5 - i}.fits"));
                TestFitsFile.Write(file, image);
            }
            File.WriteAllText(Path.Combine(folder.FullName, "n9.fits"), "SIMPLE  =                    T");
            string state = Path.Combine(folder.FullName, "state.jsonl");
            IReadOnlyList<string> paths = FrameReader.FindFrames(folder.FullName);
            IReadOnlyList<FrameMeasures> first = GradingRun.Measure(paths.Take(3).ToList(), FrameOverrides.None, state);
            File.AppendAllText(state, "{\"Version\":1,\"Frame\":{\"Na");
            var seen = new List<GradingProgress>();
            IReadOnlyList<FrameMeasures> all = GradingRun.Measure(paths, FrameOverrides.None, state, p => seen.Add(p));
            Assert.Equal(first, all.Take(3));
            Assert.Equal(paths.Select(Path.GetFileName), all.Select(m => m.Name));
            Assert.Equal(Enumerable.Range(1, 7), seen.Select(p => p.Done));
            Assert.Contains("truncated", all[6].Error, StringComparison.Ordinal);
            Assert.Equal(6, File.ReadLines(state).Count(l => l.EndsWith('}')));
            // A changed file is looked at again.
            File.SetLastWriteTimeUtc(paths[0], DateTime.UnixEpoch);
            GradingRun.Measure(paths, FrameOverrides.None, state);
            Assert.Equal(7, File.ReadLines(state).Count(l => l.EndsWith('}')));
        }
        finally
        {
            folder.Delete(true);
        }
    }

    private static FrameInfo Info(string name) => new(name, null, 1, 30, null, null);
}
