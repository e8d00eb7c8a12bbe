using Hourhinge.App.Sheet;
using Hourhinge.Tests.Support;
using SkiaSharp;
using UglyToad.PdfPig;
using UglyToad.PdfPig.Content;
using Xunit.Abstractions;

namespace Hourhinge.Tests.Host.App.Sheet;

/// <summary>`hourhinge sheet`: sizes in the produced PDF, measured by PdfPig.</summary>
public sealed class SheetTests(ITestOutputHelper output) : IDisposable
{
    private const double Tolerance = 0.1;

    private readonly string _folder = Directory.CreateTempSubdirectory("hourhinge-sheet-").FullName;

    public void Dispose() => Directory.Delete(_folder, true);

    // ISO 216; ANSI/ASME Y14.1 (8.5 in by 11 in).
    [Theory]
    [InlineData("a4", 210, 297)]
    [InlineData("letter", 215.9, 279.4)]
    public void An_arc_of_240_mm_measures_so_on_every_paper(string paper, double width, double height)
    {
        // 200 mm of travel and 20 mm at each end.
        using PdfDocument pdf = Make("bent-m6-geared", "longest_mm = 132.0", "longest_mm = 200.0", "--paper", paper);
        Page[] pages = [.. pdf.GetPages()];
        Assert.All(pages, p => Assert.InRange(PdfRuler.Size(p).WidthMm - width, -Tolerance, Tolerance));
        Assert.All(pages, p => Assert.InRange(PdfRuler.Size(p).HeightMm - height, -Tolerance, Tolerance));
        Page curve = Titled(pages, "the rod's curve")[0];
        MeasuredPath[] arcs = [.. PdfRuler.Paths(curve).Where(p => p.Points.Count > 100)];
        MeasuredPath centre = arcs.MinBy(p => Math.Abs(p.LengthMm - 240))!;
        output.WriteLine($"{paper}: arc {centre.LengthMm:F4} mm, radius {centre.RadiusMm:F4} mm");
        Assert.InRange(centre.LengthMm - 240, -Tolerance, Tolerance);
        Assert.InRange(centre.RadiusMm - 246, -Tolerance, Tolerance);
        // The thread's edges, 3 mm on either side.
        Assert.Contains(arcs, p => Math.Abs(p.RadiusMm - 249) < Tolerance);
        Assert.Contains(arcs, p => Math.Abs(p.RadiusMm - 243) < Tolerance);

        // The check bar of every page with a drawing.
        Page[] drawings = [.. pages.Where(p => Words(p).Contains("Print at 100", StringComparison.Ordinal))];
        Assert.True(drawings.Length >= 6);
        Assert.All(drawings, p => Assert.Contains(PdfRuler.Paths(p),
            b => Math.Abs(b.Width - 100) < Tolerance && b.Height < 0.01));
    }

    [Theory]
    [InlineData("a4")]
    [InlineData("letter")]
    public void Tiles_laid_on_their_marks_give_the_arm(string paper)
    {
        using PdfDocument pdf = Make("bent-m6-geared", "", "", "--paper", paper);
        Page[] tiles = Titled([.. pdf.GetPages()], "board with the nut's swivel");
        Assert.Equal(2, tiles.Length);
        MeasuredPath axis = PdfRuler.Paths(tiles[0]).First(p => Math.Abs(p.Height - 36) < 0.01 && p.Width < 0.01);
        double markOnFirst = Circles(tiles[0], 1.5).Max(c => c.X);
        double markOnSecond = Circles(tiles[1], 1.5).Min(c => c.X);
        (double X, double Y) hole = Assert.Single(Circles(tiles[1], 2));
        double arm = markOnFirst - axis.Middle.X + (hole.X - markOnSecond);
        output.WriteLine($"{paper}: arm over two tiles {arm:F4} mm");
        Assert.InRange(arm - 246, -Tolerance, Tolerance);
    }

    [Fact]
    public void Wheels_former_and_gauge_have_their_sizes()
    {
        using PdfDocument pdf = Make("bent-m6-geared", "", "", "--module", "1");
        Page[] pages = [.. pdf.GetPages()];
        // Centre distance (52 + 17) / 2 · module 1 mm.
        Page wheels = Titled(pages, "wheels 52 and 17")[0];
        Assert.Contains(PdfRuler.Paths(wheels), p => Math.Abs(p.Width - 34.5) < Tolerance && p.Height < 0.01);
        Assert.Single(Circles(wheels, 26));
        Assert.Single(Circles(wheels, 8.5));
        // hardware-notes/mechanics.md: 182 mm for the centre line by full plasticity, less 3 mm of rod; the elastic
        // core adds less than 1 mm.
        Page former = Titled(pages, "edge of the former")[0];
        MeasuredPath edge = PdfRuler.Paths(former).Where(p => p.Points.Count > 100).MaxBy(p => p.LengthMm)!;
        Assert.InRange(edge.RadiusMm, 178.5, 180.5);
        // Sagitta of the gauge: r - sqrt(r² - (c/2)²) with r = 243 mm and c = 160 mm.
        Page gauge = Titled(pages, "gauge for the inside")[0];
        MeasuredPath depth = PdfRuler.Paths(gauge).First(p => p.Width < 0.01 && Math.Abs(p.Height - 13.55) < 0.05);
        Assert.InRange(depth.LengthMm - (243 - Math.Sqrt((243 * 243) - (80 * 80))), -Tolerance, Tolerance);
    }

    [Fact]
    public void What_the_rig_file_does_not_tell_is_left_out_and_said()
    {
        string rig = Rig("bent-m6-geared", "thread = \"M6\"", "pitch_mm = 1.0");
        (int code, string text, string error) =
            Tool.Run("sheet", rig, "--pdf", Path.Combine(_folder, "x.pdf"), "--only", "templates");
        Assert.True(code == 0, error);
        Assert.Contains("names no thread; give --rod-diameter", error, StringComparison.Ordinal);
        Assert.Contains("give --module in mm", error, StringComparison.Ordinal);
        Assert.DoesNotContain("former", text, StringComparison.Ordinal);
        (code, _, error) = Tool.Run("sheet", rig, "--pdf", Path.Combine(_folder, "x.pdf"), "--rod-diameter", "1");
        Assert.Equal(2, code);
        Assert.Contains("--rod-diameter 1: must be larger than the thread's depth", error, StringComparison.Ordinal);
        Assert.Equal(2, Tool.Run("sheet", rig).Code);
        Assert.Equal(2, Tool.Run("sheet", rig, "--pdf", Path.Combine(_folder, "none", "x.pdf")).Code);
    }

    [Fact]
    public void The_field_sheet_fits_one_page_and_holds_the_rigs_night()
    {
        using PdfDocument pdf = Make("bent-m6-geared", "", "", "--only", "field", "--target", "M31", "--date",
            "2026-11-14");
        string words = Words(Assert.Single(pdf.GetPages()));
        foreach (string part in new[] { "1 flash every 10 s", "press twice", "start here", "rewound at", "Polaris",
            "Checklist", "threaded rod is strong", "M31" })
        {
            Assert.Contains(part, words, StringComparison.Ordinal);
        }
    }

    [Theory]
    [InlineData("straight-quarter-twenty")]
    [InlineData("fixed-rod-offset")]
    [InlineData("bent-m6-dc-encoder")]
    public void Every_form_gets_what_applies(string example)
    {
        string svg = Path.Combine(_folder, "page.svg");
        using PdfDocument pdf = Make(example, "", "", "--svg", svg);
        string all = string.Concat(pdf.GetPages().Select(Words));
        Assert.Equal(example.StartsWith("bent", StringComparison.Ordinal), all.Contains("rod's curve"));
        Assert.Contains("from the hinge axis", all, StringComparison.Ordinal);
        string[] files = Directory.GetFiles(_folder, "page-*.svg");
        Assert.Equal(pdf.NumberOfPages, files.Length);
        Assert.All(files, f =>
        {
            System.Xml.Linq.XElement root = System.Xml.Linq.XDocument.Load(f).Root!;
            Assert.Equal("210mm", root.Attribute("width")!.Value);
            Assert.Equal("0 0 210 297", root.Attribute("viewBox")!.Value);
        });
    }

    [SkippableFact]
    public void Rendered_pages_are_black_on_white_within_the_margins()
    {
        OutsideProgram.PdfToPpm.SkipIfMissing();
        Make("bent-m6-geared", "", "", "--target", "M31", "--date", "2026-11-14", "--module", "1").Dispose();
        (int code, string text) = OutsideProgram.PdfToPpm.Run("-r", "50", "-png", Path.Combine(_folder, "sheet.pdf"),
            Path.Combine(_folder, "page"));
        Assert.True(code == 0, text);
        string[] sheets = Directory.GetFiles(_folder, "page-*.png");
        Assert.True(sheets.Length > 7);
        foreach (string sheet in sheets)
        {
            using SKBitmap shot = SKBitmap.Decode(sheet);
            SKColor[] pixels = shot.Pixels;
            Assert.All(pixels, p => Assert.True(p.Red == p.Green && p.Green == p.Blue));
            Assert.InRange(pixels.Count(p => p.Red < 128), 100, pixels.Length / 5);
            int margin = 50 * 8 / 25;
            Assert.DoesNotContain(Enumerable.Range(0, shot.Height),
                y => shot.GetPixel(margin / 2, y).Red < 200 || shot.GetPixel(shot.Width - (margin / 2), y).Red < 200);
        }
    }

    [Theory]
    [InlineData("M6", 1, 6, 4.773)]
    [InlineData("M8x1", 1, 8, 6.773)]
    [InlineData("1/4-20", 1.27, 6.35, 4.792)]
    [InlineData("#8-32", 0.79375, 4.166, 3.192)]
    [InlineData("", 1, 0, 0)]
    public void Diameters_of_threads(string name, double pitch, double outer, double core)
    {
        var thread = RodThread.Of(name, pitch);
        Assert.Equal(outer, thread?.OuterMm ?? 0, 3);
        Assert.Equal(core, thread?.CoreMm ?? 0, 3);
    }

    private static string Words(Page page) => string.Join(' ', page.GetWords().Select(w => w.Text));

    private static Page[] Titled(Page[] pages, string title) =>
        [.. pages.Where(p => Words(p).Contains(title, StringComparison.Ordinal)
            && Words(p).Contains("Print at 100", StringComparison.Ordinal))];

    private static (double X, double Y)[] Circles(Page page, double radius) => [.. PdfRuler.Paths(page)
        .Where(p => p.Points.Count > 100 && Math.Abs(p.Width - (2 * radius)) < 0.02
            && Math.Abs(p.Height - (2 * radius)) < 0.02)
        .Select(p => p.Middle).Distinct()];

    private string Rig(string example, string before, string after)
    {
        string rig = Path.Combine(_folder, "rig.toml");
        string text = File.ReadAllText(Tool.Example(example));
        File.WriteAllText(rig, before.Length == 0 ? text : text.Replace(before, after, StringComparison.Ordinal));
        return rig;
    }

    private PdfDocument Make(string example, string before, string after, params string[] options)
    {
        string file = Path.Combine(_folder, "sheet.pdf");
        (int code, _, string error) =
            Tool.Run(["sheet", Rig(example, before, after), "--pdf", file, .. options]);
        Assert.True(code == 0, error);
        return PdfRuler.Open(file);
    }
}
