using System.Globalization;
using System.Text.Json;
using System.Text.RegularExpressions;
using Hourhinge.Frames.Reading;
using Hourhinge.Tests.Host.Frames;
using Hourhinge.Tests.Support;
using SixLabors.ImageSharp;
using SixLabors.ImageSharp.Processing;

namespace Hourhinge.Tests.Host.App.Field;

public sealed partial class FieldCommandTests : IDisposable
{
    private static readonly string _photo =
        RepositoryFile.Path("tests/reference/photographs/fixed-24mm/frame-2.jpg");

    private readonly string _folder = Directory.CreateTempSubdirectory("hourhinge-field-").FullName;

    public void Dispose() => Directory.Delete(_folder, true);

    /// <summary>Centre by the fit of tests/reference/photographs/README.md, focal length by its table. 36 mm over 2000
    /// pixels: 18 µm. The scale with refraction taken off is 0.06 % above that with it (fit_fixed_24mm.py leaves it
    /// in).</summary>
    [Fact]
    public void A_photograph_is_recognised()
    {
        (int code, string text, string error) = Tool.Run("field", _photo, "--lens", "24", "--pixel", "18", "--site",
            "13,77.6", "--utc-offset", "5.5", "--json");
        Assert.True(code == 0, error);
        JsonElement frame = JsonDocument.Parse(text).RootElement.GetProperty("frames")[0];
        JsonElement field = frame.GetProperty("field");
        double Number(string name) => field.GetProperty(name).GetDouble();
        Assert.Equal(258.370, Number("centre_ra_deg"), 0.006);
        Assert.Equal(-44.988, Number("centre_dec_deg"), 0.006);
        Assert.True(field.GetProperty("refraction_removed").GetBoolean());
        Assert.Equal(1361.2, Number("focal_length_px"), 3.0);
        Assert.Equal(100 * ((1361.2 * 0.018 / 24) - 1), Number("against_name_percent"), 0.3);
        // Scorpius and the Milky Way in the south, buildings at the foot: Antares is up and in the frame.
        Assert.InRange(Number("altitude_deg"), 15, 45);
        Assert.InRange(Number("azimuth_deg"), 180, 225);
        Assert.Contains(field.GetProperty("objects").EnumerateArray(),
            o => o.GetProperty("name").GetString()!.Contains("Antares", StringComparison.Ordinal));
        // Cloud at the right, haze and buildings below.
        Assert.InRange(Number("missing_share"), 0.3, 0.8);
    }

    [Fact]
    public void Text_and_page_say_the_same_and_a_wrong_lens_is_told()
    {
        string page = Path.Combine(_folder, "field.html");
        (int code, string text, string error) =
            Tool.Run("field", Small(), "--lens", "50", "--pixel", "36", "--html", page);
        Assert.True(code == 0, error);
        Assert.Contains("another lens or pixel than told", text, StringComparison.Ordinal);
        Assert.Contains("needs --site", text, StringComparison.Ordinal);
        string flat = Flat(text);
        Assert.Contains("viewers turn (Exif orientation 6)", flat, StringComparison.Ordinal);
        // Half of what the whole frame has with refraction taken off.
        Assert.Contains("refraction left in", flat, StringComparison.Ordinal);
        Match focal = FocalLength().Match(flat);
        double Figure(int group) => double.Parse(focal.Groups[group].Value, CultureInfo.InvariantCulture);
        Assert.InRange(Figure(1), (1361.65 / 2) - (2 * Figure(2)), (1361.65 / 2) + (2 * Figure(2)));
        Assert.Contains("The field is recognised.", text, StringComparison.Ordinal);
        Assert.Contains("another lens or pixel than told", File.ReadAllText(page), StringComparison.Ordinal);
        Assert.Contains("data:image/jpeg", File.ReadAllText(page), StringComparison.Ordinal);
    }

    /// <summary>The same frame with its zone taken out, and with a site where it cannot have been taken.</summary>
    [Fact]
    public void Height_needs_a_clock_that_is_known()
    {
        byte[] bytes = File.ReadAllBytes(Small());
        byte[] zone = "+05:30"u8.ToArray();
        for (int at = bytes.AsSpan().IndexOf(zone); at >= 0; at = bytes.AsSpan().IndexOf(zone))
        {
            "      "u8.CopyTo(bytes.AsSpan(at));
        }

        string file = Path.Combine(_folder, "no-zone.jpg");
        File.WriteAllBytes(file, bytes);
        (_, string text, _) = Tool.Run("field", file, "--site", "13,77.6");
        Assert.Contains("give --utc-offset", Flat(text), StringComparison.Ordinal);
        (_, text, _) = Tool.Run("field", file, "--site", "50,-100", "--utc-offset", "5.5");
        Assert.Contains("below the horizon", text, StringComparison.Ordinal);
        (_, text, _) = Tool.Run("field", file, "--site", "13,40", "--utc-offset", "5.5");
        Assert.Contains("the sun stood at altitude 20°", Flat(text), StringComparison.Ordinal);
    }

    /// <summary>A quarter of the photograph: its lens's axis meets it near the corner. By the whole frame it lies 518
    /// and 339 pixels from the quarter's centre (README.md of the photographs).</summary>
    [Fact]
    public void A_corner_cut_out_of_a_photograph_has_the_lens_of_the_whole()
    {
        string file = Path.Combine(_folder, "corner.jpg");
        using (var image = Image.Load(_photo))
        {
            image.Mutate(i => i.Crop(new Rectangle(0, 0, 1000, 667)));
            image.Save(file, new SixLabors.ImageSharp.Formats.Jpeg.JpegEncoder { Quality = 92 });
        }

        (int code, string text, string error) = Tool.Run("field", file, "--site", "13,77.6", "--json");
        Assert.True(code == 0, error);
        JsonElement field = JsonDocument.Parse(text).RootElement.GetProperty("frames")[0].GetProperty("field");
        Assert.Equal(1361.7, field.GetProperty("focal_length_px").GetDouble(), 1.5);
        Assert.Equal(518, field.GetProperty("axis_x_px").GetDouble(), 3.0);
        Assert.Equal(339, field.GetProperty("axis_y_px").GetDouble(), 3.0);
        Assert.False(field.GetProperty("model_doubtful").GetBoolean());
    }

    [Theory]
    [InlineData("FOCALLEN", 0.0, 1, "not recognised")]
    [InlineData("XPIXSZ", -4.0, 1, "not recognised")]
    [InlineData("EXPTIME", 1e300, 2, "must be above 0 and up to 86400 s")]
    public void A_header_of_impossible_values_is_no_error_of_the_program(string key, double value, int exit,
        string told)
    {
        string file = Path.Combine(_folder, "odd.fits");
        using (FrameImage image = new TinySky(200, 150, 200, 1)
            .Draw(TinySky.RandomStars(200, 150, 20, 5_000, 200_000, 1, apart: 16), 1.1).Expose())
        using (FileStream to = File.Create(file))
        {
            TestFitsFile.Write(to, image, h =>
            {
                foreach ((string name, double usual) in new[] { ("FOCALLEN", 50.0), ("XPIXSZ", 4.0),
                    ("EXPTIME", 30.0) })
                {
                    h.Add(name, name == key ? value : usual);
                }
            });
        }

        (int code, string text, string error) = Tool.Run("field", file);
        Assert.Equal(exit, code);
        Assert.Contains(told, text + error, StringComparison.Ordinal);
    }

    private static string Flat(string text) =>
        string.Join(' ', text.Split((char[]?)null, StringSplitOptions.RemoveEmptyEntries));

    [GeneratedRegex(@"focal length ([0-9.]+) ± ([0-9.]+) pixels")]
    private static partial Regex FocalLength();

    // Half the size: a quarter of the time.
    private string Small()
    {
        string file = Path.Combine(_folder, "small.jpg");
        using var image = Image.Load(_photo);
        image.Mutate(i => i.Resize(image.Width / 2, image.Height / 2));
        image.Metadata.ExifProfile!.SetValue(SixLabors.ImageSharp.Metadata.Profiles.Exif.ExifTag.Orientation,
            (ushort)6);
        image.Save(file, new SixLabors.ImageSharp.Formats.Jpeg.JpegEncoder { Quality = 95 });
        return file;
    }

    /// <summary>The others' answers are not lost.</summary>
    [Fact]
    public void A_file_cut_short_is_named_after_the_answers_of_the_others()
    {
        string file = Small(), cut = Path.Combine(_folder, "cut.jpg");
        File.WriteAllBytes(cut, File.ReadAllBytes(file)[..60_000]);
        (int code, string text, string error) = Tool.Run("field", file, cut);
        Assert.Equal(2, code);
        Assert.Contains("The field is recognised.", text, StringComparison.Ordinal);
        Assert.Contains("cut.jpg: truncated", error, StringComparison.Ordinal);
    }

    [Fact]
    public void What_is_no_sky_is_not_recognised()
    {
        (int code, string text, _) =
            Tool.Run("field", RepositoryFile.Path("tests/reference/photographs/single/short-exposure.png"));
        Assert.Equal(1, code);
        Assert.Contains("not recognised", text, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("--site", "95,0", "--site 95,0")]
    [InlineData("--lens", "1", "--lens")]
    [InlineData("--pixel", "900", "--pixel")]
    [InlineData("--html", "page.txt", "--html page.txt")]
    public void Bad_input_is_named(string option, string value, string named)
    {
        (int code, _, string error) = Tool.Run("field", _photo, option, value);
        Assert.Equal(2, code);
        Assert.Contains(named, error, StringComparison.Ordinal);
    }

    [Fact]
    public void A_file_that_is_no_frame_is_named()
    {
        string text = Path.Combine(_folder, "notes.jpg");
        File.WriteAllText(text, "no picture");
        (int code, _, string error) = Tool.Run("field", text);
        Assert.Equal(2, code);
        Assert.Contains("notes.jpg", error, StringComparison.Ordinal);
        Assert.Equal(2, Tool.Run("field", Path.Combine(_folder, "absent.fits")).Code);
    }
}
