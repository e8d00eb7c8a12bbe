// Copies of one real photograph, half the size (tests/reference/photographs, CC-BY-4.0), with other times: a
// drive that follows the sky. By the command, as a user at the tripod: a clock without its zone, a clock of another
// zone, a bump, a last file that was cut short.
using System.Text;
using System.Text.Json;
using Hourhinge.Tests.Host.App;
using Hourhinge.Tests.Support;
using SixLabors.ImageSharp;
using SixLabors.ImageSharp.Formats.Jpeg;
using SixLabors.ImageSharp.Metadata.Profiles.Exif;
using SixLabors.ImageSharp.Processing;

namespace Hourhinge.Tests.Host.Calibration.Stars;

public sealed class FrameTimesTests : IDisposable
{
    private static readonly Lazy<(byte[] Still, byte[] Bumped)> _photographs =
        new(() => (Photograph(0), Photograph(8)));

    private readonly string _folder = Directory.CreateTempSubdirectory("hourhinge-times-").FullName;

    public void Dispose() => Directory.Delete(_folder, true);

    [Fact]
    public void A_clock_without_its_zone_is_no_axis()
    {
        Take(hasZone: false, hour: 13, minute: 44);
        Doubted("do not name the zone");
        Assert.Equal(0, Quick("--utc-offset", "0").Code);
    }

    /// <summary>8.5 hours instead of 5.5: 16:14 at the place, the sun stands high and the field is up.</summary>
    [Fact]
    public void Stars_by_day_are_a_wrong_clock()
    {
        Take(hasZone: false);
        Doubted("the sun stood at altitude", "--utc-offset", "8.5");
    }

    [Fact]
    public void A_bump_between_the_two_frames_is_told()
    {
        Take(hasZone: true, bumpedFrom: 1);
        Doubted("did not move evenly");
    }

    [Fact]
    public void A_last_file_that_was_cut_short_is_passed_over()
    {
        Take(hasZone: true);
        File.WriteAllBytes(Frame(4), _photographs.Value.Still[..50_000]);
        (int code, string text, string error) = Quick();
        Assert.True(code == 0, text + error);
        Assert.Contains("frame-4.jpg: truncated", text, StringComparison.Ordinal);
        File.WriteAllBytes(Frame(1), []);
        File.WriteAllBytes(Frame(2), []);
        File.WriteAllBytes(Frame(3), []);
        (code, _, error) = Quick();
        Assert.Equal(2, code);
        Assert.Contains("none of its frames can be read: frame-1.jpg: the file is empty", error,
            StringComparison.Ordinal);
    }

    [Fact]
    public void Pictures_reduced_too_far_are_told()
    {
        byte[] third = Photograph(0, 3);
        Take(hasZone: true, third);
        Doubted("pixels wide, so that their places are pulled to pixels");
    }

    /// <summary>Five minutes between two frames; the photograph's own exposure is 60 s.</summary>
    [Theory]
    [InlineData(30, false, "exposures of 30 to 60 s")]
    [InlineData(400, true, "a frame began every 300 s")]
    public void Exposures_that_cannot_be_are_no_periodic_error(int seconds, bool isAll, string reason)
    {
        byte[] other = Photograph(0, exposureSec: seconds);
        Take(hasZone: true, isAll ? other : null);
        Take(hasZone: true, other, first: 3);
        Doubted(Calibrate("--json"), reason);
    }

    private void Doubted(string reason, params string[] more) => Doubted(Quick(["--json", .. more]), reason);

    private static void Doubted((int Code, string Out, string Error) said, string reason)
    {
        (int code, string json, string error) = said;
        Assert.True(code == 1, json + error);
        Assert.Contains(JsonDocument.Parse(json).RootElement.GetProperty("reasons_not_to_trust").EnumerateArray(),
            r => r.GetString()!.Contains(reason, StringComparison.Ordinal));
    }

    private (int Code, string Out, string Error) Quick(params string[] more) => Calibrate(["--quick", .. more]);

    private (int Code, string Out, string Error) Calibrate(params string[] more)
    {
        string rig = Path.Combine(_folder, "rig.toml");
        File.WriteAllText(rig, File.ReadAllText(Tool.Example("bent-m6-geared"))
            .Replace("latitude_deg = 42.8", "latitude_deg = 13.0", StringComparison.Ordinal)
            .Replace("longitude_deg = -3.1", "longitude_deg = 77.6", StringComparison.Ordinal)
            .Replace("pixel_um = 4.3", "pixel_um = 5.874", StringComparison.Ordinal)
            .Replace("lenses_mm = [85, 35]", "lenses_mm = [24]", StringComparison.Ordinal));
        return Tool.Run(["calibrate", "stars", rig, Path.Combine(_folder, "frames"), .. more]);
    }

    private string Frame(int number) => Path.Combine(_folder, "frames", $"frame-{number}.jpg");

    // Five minutes between two frames; the zone +05:30 is in the photograph.
    private void Take(bool hasZone, byte[]? photograph = null, int hour = 19, int minute = 14, int bumpedFrom = 9,
        int first = 0)
    {
        Directory.CreateDirectory(Path.Combine(_folder, "frames"));
        for (int i = first; i < first + 3; i++)
        {
            byte[] bytes = [.. photograph ?? (i < bumpedFrom ? _photographs.Value.Still : _photographs.Value.Bumped)];
            Replace(bytes, "2021:09:29 19:14:17", $"2021:09:29 {hour}:{minute + (5 * i)}:17");
            if (!hasZone)
            {
                Replace(bytes, "+05:30", "      ");
            }

            File.WriteAllBytes(Frame(i + 1), bytes);
        }
    }

    private static void Replace(byte[] bytes, string old, string by)
    {
        byte[] from = Encoding.ASCII.GetBytes(old), to = Encoding.ASCII.GetBytes(by);
        for (int at = bytes.AsSpan().IndexOf(from); at >= 0 && old != by; at = bytes.AsSpan().IndexOf(from))
        {
            to.CopyTo(bytes.AsSpan(at));
        }
    }

    // Half the size, moved to the left by so many pixels.
    private static byte[] Photograph(int shiftPx, int reduced = 2, int exposureSec = 60)
    {
        using var image =
            Image.Load(RepositoryFile.Path("tests/reference/photographs/fixed-24mm/frame-2.jpg"));
        image.Mutate(i => i.Resize(image.Width / reduced, image.Height / reduced));
        (int width, int height) = (image.Width, image.Height);
        image.Mutate(i => i.Crop(new Rectangle(shiftPx, 0, width - shiftPx, height)).Resize(new ResizeOptions
        {
            Size = new Size(width, height),
            Mode = ResizeMode.BoxPad,
            Position = AnchorPositionMode.Left,
        }));
        image.Metadata.ExifProfile!.SetValue(ExifTag.ExposureTime, new Rational((uint)exposureSec, 1));
        using var stream = new MemoryStream();
        image.Save(stream, new JpegEncoder { Quality = 92 });
        return stream.ToArray();
    }
}
