// Detection on photographs that others took (tests/reference/photographs), against the catalogue's stars on them and
// SEP 1.2.1 (Debian python3-sep) on the same files.
using System.Diagnostics;
using System.Globalization;
using Hourhinge.Frames.Reading;
using Hourhinge.Frames.Stars;
using Hourhinge.Tests.Support;
using Xunit.Abstractions;

namespace Hourhinge.Tests.Host.Frames.Stars;

public sealed class PhotographTests(ITestOutputHelper output)
{
    private const double NearPx = 3;

    /// <summary>Hipparcos stars, placed by tests/reference/frames/photograph_truth.py. Completeness counts where no
    /// building or tree stands (the upper part of both frames); false detections count everywhere. Frame 5 lies under
    /// bands of cloud.</summary>
    [SkippableTheory]
    [InlineData(2, 0.95, 0.05)]
    [InlineData(5, 0.95, 0.05)]
    public void Stars_of_the_catalogue_are_found_and_little_else(int frame, double least, double most)
    {
        StarField field = Find($"fixed-24mm/frame-{frame}.jpg");
        var truth = File.ReadLines(RepositoryFile.Path($"tests/reference/frames/photograph-{frame}-stars.csv")).Skip(1)
            .Select(l => l.Split(',').Select(Number).ToArray()).ToList();
        var clear = truth.Where(t => t[0] is > 20 and < 1700 && t[1] is > 20 and < 480).ToList();
        double Share(double from, double to)
        {
            var some = clear.Where(t => t[2] >= from && t[2] < to).ToList();
            return some.Count(t => IsNear(field, t[0], t[1])) / (double)some.Count;
        }

        // The faintest magnitude of which half is found, and one brighter than that.
        double faint = Enumerable.Range(0, 12).Select(k => 4.5 + (0.25 * k)).Last(m => Share(m, m + 0.25) >= 0.5)
            + 0.25;
        double found = Share(-2, faint - 1);
        List<(double X, double Y)>? sep = Sep($"fixed-24mm/frame-{frame}.jpg", 8);
        Skip.If(sep == null, "SKIPPED, NOTHING WAS CHECKED: no python3 has sep (apt-get install python3-sep).");
        int wrong = field.Stars.Count(s => !truth.Any(t => Near(s, t[0], t[1])) && !sep!.Any(t => Near(s, t.X, t.Y)));
        int bySep = clear.Count(t => t[2] < faint - 1 && sep!.Any(s => Within(s.X - t[0], s.Y - t[1])));
        output.WriteLine($"frame {frame}: {field.Stars.Count} stars, half found at magnitude {faint:0.00}; of those "
            + $"brighter than {faint - 1:0.00} found {found:P1} (SEP at 8 sigma {bySep} of "
            + $"{clear.Count(t => t[2] < faint - 1)}); false {wrong} of {field.Stars.Count}; SEP finds {sep!.Count}");
        Assert.True(found >= least, $"{found}");
        Assert.InRange(wrong, 0, most * field.Stars.Count);
    }

    /// <summary>What is left in pictures whose noise has long tails: colour blotches, a few electrons in 8
    /// bits.</summary>
    [Theory]
    [InlineData("single/near-pole.jpg", 40, 250)]
    [InlineData("single/short-exposure.png", 8, 60)]
    [InlineData("single/all-sky.jpg", 1000, 4000)]
    public void Noise_does_not_become_stars(string name, int least, int most)
    {
        StarField field = Find(name);
        output.WriteLine($"{name}: {field.Stars.Count} stars, {field.HotPixels} hot pixels, faintest "
            + $"{field.Stars.Min(s => s.Significance):0.0} sigma");
        Assert.InRange(field.Stars.Count, least, most);
    }

    /// <summary>The same picture with its sky turned over has the same noise and no star.</summary>
    [Theory]
    [InlineData("fixed-24mm/frame-2.jpg", 480)]
    [InlineData("single/near-pole.jpg", 3456)]
    [InlineData("single/short-exposure.png", 1040)]
    public void A_negative_has_no_stars(string name, int rows)
    {
        Assert.True(FrameReader.TryRead(PathOf(name), FrameOverrides.None, out Frame? frame, out string refusal),
            refusal);
        using Frame held = frame;
        var sky = Background.Of(frame.Image);
        using var negative = FrameImage.NewValues(frame.Image.Width, Math.Min(rows, frame.Image.Height));
        for (int y = 0; y < negative.Height; y++)
        {
            for (int x = 0; x < negative.Width; x++)
            {
                negative.ValuesRow(y)[x] = 30_000 + (2 * sky.At(x, y)) - frame.Image[x, y];
            }
        }

        StarField field = StarFinder.Find(negative);
        output.WriteLine($"{name}: {field.Stars.Count} stars in the negative");
        Assert.InRange(field.Stars.Count, 0, 6);
    }

    private static string PathOf(string name) => RepositoryFile.Path("tests/reference/photographs/" + name);

    private static StarField Find(string name)
    {
        Assert.True(FrameReader.TryRead(PathOf(name), FrameOverrides.None, out Frame? frame, out string refusal),
            refusal);
        using Frame held = frame;
        return StarFinder.Find(frame.Image, new FinderOptions(MaxStars: 20_000));
    }

    private static bool IsNear(StarField field, double x, double y) => field.Stars.Any(s => Near(s, x, y));

    private static bool Near(Star s, double x, double y) => Within(s.X - x, s.Y - y);

    private static bool Within(double x, double y) => (x * x) + (y * y) < NearPx * NearPx;

    private static List<(double X, double Y)>? Sep(string name, double sigma)
    {
        string? python = PythonInterpreter.With("sep");
        if (python == null)
        {
            return null;
        }

        using Process judge = Process.Start(new ProcessStartInfo(python, [RepositoryFile.Path(
            "tests/reference/frames/judge_photograph.py"), PathOf(name), sigma.ToString(CultureInfo.InvariantCulture)])
        { RedirectStandardOutput = true })!;
        string said = judge.StandardOutput.ReadToEnd();
        judge.WaitForExit();
        Assert.Equal(0, judge.ExitCode);
        return [.. said.Split('\n', StringSplitOptions.RemoveEmptyEntries).Select(l => l.Split(','))
            .Select(f => (Number(f[0]), Number(f[1])))];
    }

    private static double Number(string text) => double.Parse(text, CultureInfo.InvariantCulture);
}
