// The pages of the report tests: those of the commands, made by running them, and one with every kind of section and
// with content that would break out of its element if it were not escaped.

using System.Collections.Concurrent;
using Hourhinge.Report;
using Hourhinge.Report.Charts;
using Hourhinge.Tests.Host.App;
using Hourhinge.Tests.Host.Calibration.Stars;
using Hourhinge.Tests.Support;
using SkiaSharp;

namespace Hourhinge.Tests.Host.Report;

/// <summary>Writes pages into a folder of their own; each is made once for all test classes.</summary>
public static class Pages
{
    /// <summary>Content that would run, close its element or leave its attribute if it were not escaped.</summary>
    public const string Hostile =
        "</title></style></script><script>window.broken = 1</script><img src=x onerror=\"window.broken = 2\">\" "
        + "onload='window.broken = 3' & < > \u0001";

    private static readonly string _folder = Directory.CreateTempSubdirectory("hourhinge-report-").FullName;
    private static readonly ConcurrentDictionary<(string Name, bool Night), Lazy<string>> _made = [];
    private static readonly Lazy<string> _frames = new(SomeFrames);

    /// <summary>Width of a phone's window, px.</summary>
    public const int NarrowPx = 360;

    /// <summary>All pages.</summary>
    public static IReadOnlyList<string> Names { get; } =
    [
        "profile", "design", "rehearse", "budget", "night", "pole", "south", "year", "frames", "field", "calibrate",
        "fixed", "turns", "sampler",
    ];

    public static TheoryData<string> Each => [.. Names];

    static Pages() => AppDomain.CurrentDomain.ProcessExit += (_, _) => Directory.Delete(_folder, recursive: true);

    /// <summary>Path of a page, made on first use.</summary>
    public static string Make(string name, bool night) =>
        _made.GetOrAdd((name, night), key => new Lazy<string>(() => Write(key.Name, key.Night))).Value;

    private static string Write(string name, bool night)
    {
        string path = Path.Combine(_folder, $"{name}-{(night ? "night" : "day")}.html");
        if (name == "sampler")
        {
            File.WriteAllText(path, Sampler(night).ToHtml());
            return path;
        }

        // The faults put a long list and the assessment "not good" on the rehearsal's page.
        (int expected, string[] args) = name switch
        {
            "profile" => (0, (string[])["profile", Tool.Example("straight-quarter-twenty")]),
            "design" => (0, ["design", Path.Combine(Tool.Root, "host", "examples", "parts", "wheatear.toml")]),
            "budget" =>
                (1, ["budget", Tool.Example("fixed-rod-offset"), "--lens", "135", "--exposure", "240", "--dec", "41"]),
            "night" => (0, ["night", "--rig", Tool.Example("fixed-rod-offset"), "--target", "M31", "M33", "--date",
                "2026-10-12", "--site", "47.2,12.6", "--utc-offset", "2"]),
            "pole" => (0, ["night", "--pole", "--rig", Tool.Example("bent-m6-geared"), "--date", "2026-11-14"]),
            "south" => (0, ["night", "--pole", "--rig", Tool.Example("fixed-rod-offset"), "--date", "2026-11-14",
                "--utc-offset", "-4"]),
            "year" => (0, ["night", "--year", "--target", "M31", "--date", "2026-10-12", "--site", "47.2,12.6"]),
            "calibrate" =>
                (0, ["calibrate", "rod", Tool.Example("straight-quarter-twenty"), "--data",
                    Path.Combine(Tool.Root, "host", "examples", "data", "heron-rod.csv")]),
            "fixed" =>
                (0, ["calibrate", "rod", Tool.Example("fixed-rod-offset"), "--data",
                    Path.Combine(Tool.Root, "host", "examples", "data", "wagtail-rod.csv")]),
            "turns" =>
                (0, ["calibrate", "turns", Tool.Example("straight-quarter-twenty"), "--data",
                    Path.Combine(Tool.Root, "host", "examples", "data", "heron-turns.csv")]),
            "frames" =>
                (0, ["frames", _frames.Value, "--no-state", "--sky-angle", "30", "--contact",
                    Path.Combine(_folder, $"contact-{night}.jpg")]),
            "field" =>
                (0, ["field", RepositoryFile.Path("tests/reference/photographs/fixed-24mm/frame-2.jpg"), "--lens",
                "24", "--pixel", "18", "--site", "13,77.6"]),
            _ => (1, ["rehearse", Tool.Example("fixed-rod-offset"), "--minutes", "12", "--pass", "10", "--periodic",
                "12", "--clock-error", "40"]),
        };
        if (night)
        {
            args = [.. args, "--night"];
        }

        (int code, _, string error) = Tool.Run([.. args, "--html", path]);
        Assert.True(code == expected, error);
        return path;
    }

    // Kept, trailed and damaged.
    private static string SomeFrames()
    {
        string folder = Path.Combine(_folder, "frames");
        FewFrames.Write(folder, [0, 0.1, 0.2, 1.1, 3, 5]);
        File.WriteAllText(Path.Combine(folder, "frame_damaged_by_a_card_that_was_pulled_out_too_early.fits"),
            "SIMPLE  =                    T");
        return folder;
    }

    /// <summary>Every kind of section.</summary>
    internal static HtmlPage Sampler(bool night)
    {
        double[] seconds = [.. Enumerable.Range(1, 400).Select(i => i * 1.5)];
        Chart chart = new(Hostile, Hostile, new Axis("seconds") { IsLog = true }, new Axis("arcsec") { IsLog = true })
        {
            Series =
            [
                new Series("tracked", seconds, [.. seconds.Select(s => 0.01 * s)]),
                new Series("axis error", seconds, [.. seconds.Select(s => 0.04 * s)]),
                new Series("refraction", seconds, [.. seconds.Select(s => 0.002 * s)]),
                new Series(Hostile[..30], seconds, [.. seconds.Select(s => 15 * s)]),
            ],
            Bands = [new Band("one pixel", 0.1, 6)],
            Marks = [new Mark("longest exposure", 150) { IsOfX = true }],
        };
        double[] hours = [.. Enumerable.Range(0, 13).Select(i => i / 2.0)];
        return new HtmlPage(Hostile, new AssessmentBanner(AssessmentKind.NotGood, Hostile))
        {
            Night = night,
            Source = Hostile,
            Sections =
            [
                new Facts(Hostile, ("Lens", "135 mm"), (Hostile, Hostile)) { Lead = Hostile },
                new DataTable(
                    "A table wider than a phone " + Hostile,
                    [Column.Text("frame"), .. Enumerable.Range(1, 12).Select(i => Column.Number($"star {i}", "arcsec")),
                        Column.Text(Hostile)],
                    [.. Enumerable.Range(1, 40).Select(r => (string[])[$"frame_{r:0000}.fits",
                        .. Enumerable.Range(1, 12).Select(i => $"{-r * i}.25"), Hostile])]),
                chart,
                new Chart("Altitude", "Highest at 23:00.",
                    new Axis("local time")
                    { Ticks = [.. Enumerable.Range(0, 7).Select(h => new Tick(h, $"{(20 + h) % 24:00}:00"))] },
                    new Axis("degrees") { From = 0, To = 90 })
                {
                    Series =
                    [.. Enumerable.Range(1, 4).Select(k => new Series($"target {k}", hours,
                        [.. hours.Select(h => 80 - (k * 8) - ((h - 3) * (h - 3) * 4))]) { IsPoints = true })],
                    Bands = [new Band("dark", 1, 5) { IsOfX = true }],
                },
                new Photo("Contact picture", Hostile, "image/png", Colourful()),
                new Notes("Notes", Hostile, "A_word_without_any_place_to_break_it_" + new string('x', 200)),
                new Cautions(Hostile),
            ],
        };
    }

    // All colours, so that what the night theme leaves of green and blue is seen.
    private static byte[] Colourful()
    {
        using var bitmap = new SKBitmap(900, 60);
        for (int x = 0; x < bitmap.Width; x++)
        {
            for (int y = 0; y < bitmap.Height; y++)
            {
                bitmap.SetPixel(x, y, SKColor.FromHsv(x * 0.4f, 100 - y, 100));
            }
        }

        return bitmap.Encode(SKEncodedImageFormat.Png, 90).ToArray();
    }
}
