// Files of frames, read back by readers that are not ours: astropy for FITS, Pillow for Exif and 16-bit TIFF.

using System.Globalization;
using System.Text.Json;
using Hourhinge.Starfield.Files;
using Hourhinge.Starfield.Render;
using Hourhinge.Starfield.Scenes;

namespace Hourhinge.Tests.Host.Starfield;

public sealed class FrameFileTests : IDisposable
{
    private readonly string _folder = Directory.CreateTempSubdirectory("starfield").FullName;

    public void Dispose() => Directory.Delete(_folder, recursive: true);

    private static Scene Scene()
    {
        Scene scene =
            StarfieldReference.Scene(320, 200) with { StartUtc = StarfieldReference.Evening.AddMilliseconds(637) };
        return scene with
        {
            Lens = scene.Lens with { FocalLengthMm = 50.7, MarkedFocalLengthMm = 50 },
            Sensor = scene.Sensor with { BitDepth = 12, LeftAligned = true, FullWellElectrons = 8000 },
            Stars = RandomField.Create(4, new FrameRenderer(scene).CentreRightAscensionDeg, 30, 2, 11),
        };
    }

    private string Write(FrameFormat format, CameraClock clock, out RenderedFrame frame)
    {
        var sequence = new FrameSequence(2, 20, 2.5);
        frame = sequence.Render(Scene()).Last();
        return sequence.Write(Scene(), _folder, format, clock)[1];
    }

    // Sums that a mixed-up row, byte or sign would change.
    private static (long Sum, long RowWeighted) Sums(RenderedFrame f)
    {
        long sum = 0, weighted = 0;
        for (int i = 0; i < f.Pixels.Length; i++)
        {
            sum += f.Pixels.Span[i];
            weighted += f.Pixels.Span[i] * (long)((i % 320) + (3 * (i / 320)));
        }
        return (sum, weighted);
    }

    [SkippableFact]
    public void Astropy_reads_the_FITS_file_and_its_headers()
    {
        string path = Write(FrameFormat.Fits, new CameraClock(0.25), out RenderedFrame frame);
        JsonElement seen = StarfieldReference.Judge("read_files.py", path);
        JsonElement header = seen.GetProperty("header");
        // 20:00:00.637 + 22.5 s + 0.25 s of a fast clock.
        Assert.Equal("2027-03-04T20:00:23.387", header.GetProperty("DATE-OBS").GetString());
        Assert.Equal("UTC", header.GetProperty("TIMESYS").GetString());
        Assert.Equal(20.0, header.GetProperty("EXPTIME").GetDouble());
        Assert.Equal(3.9, header.GetProperty("XPIXSZ").GetDouble());
        Assert.Equal(50.0, header.GetProperty("FOCALLEN").GetDouble());
        Assert.Equal(16, header.GetProperty("BITPIX_ON_DISK").GetInt32());
        Assert.Empty(seen.GetProperty("complaints").EnumerateArray());
        (long sum, long weighted) = Sums(frame);
        Assert.Equal(sum, seen.GetProperty("sum").GetInt64());
        Assert.Equal(weighted, seen.GetProperty("weighted").GetInt64());
        Assert.Equal(0, new FileInfo(path).Length % 2880);
    }

    [SkippableFact]
    public void Pillow_reads_all_sixteen_bits_and_the_Exif_of_the_TIFF_file()
    {
        string path = Write(FrameFormat.Tiff, new CameraClock(Zone: TimeSpan.FromHours(1)), out RenderedFrame frame);
        JsonElement seen = StarfieldReference.Judge("read_files.py", path);
        (long sum, long weighted) = Sums(frame);
        Assert.Equal(sum, seen.GetProperty("sum").GetInt64());
        Assert.Equal(weighted, seen.GetProperty("weighted").GetInt64());
        CheckExif(seen.GetProperty("exif"), "2027:03:04 21:00:23", "137", "+01:00");
    }

    [SkippableTheory]
    [InlineData(FrameFormat.Jpeg)]
    [InlineData(FrameFormat.Png)]
    public void Pillow_reads_the_Exif_of_pictures(FrameFormat format)
    {
        string path = Write(format, new CameraClock(Zone: TimeSpan.FromMinutes(-210)), out _);
        JsonElement seen = StarfieldReference.Judge("read_files.py", path);
        CheckExif(seen.GetProperty("exif"), "2027:03:04 16:30:23", "137", "-03:30");
    }

    [SkippableFact]
    public void A_clock_of_whole_seconds_leaves_no_fraction_anywhere()
    {
        var clock = new CameraClock(0.4, WholeSeconds: true);
        JsonElement jpeg = StarfieldReference.Judge("read_files.py", Write(FrameFormat.Jpeg, clock, out _));
        CheckExif(jpeg.GetProperty("exif"), "2027:03:04 20:00:24", null, "+00:00");
        JsonElement fits = StarfieldReference.Judge("read_files.py", Write(FrameFormat.Fits, clock, out _));
        Assert.Equal("2027-03-04T20:00:24", fits.GetProperty("header").GetProperty("DATE-OBS").GetString());
    }

    // Tag numbers of Exif 2.32 (CIPA DC-008).
    private static void CheckExif(JsonElement exif, string stamp, string? subSecond, string zone)
    {
        Assert.Equal(stamp, exif.GetProperty("36867").GetString());
        Assert.Equal(zone, exif.GetProperty("36881").GetString());
        Assert.Equal(subSecond, exif.TryGetProperty("37521", out JsonElement s) ? s.GetString() : null);
        Assert.Equal(20, exif.GetProperty("33434").GetDouble(), 9);
        Assert.Equal(50, exif.GetProperty("37386").GetDouble(), 9);
        Assert.Equal(2.8, exif.GetProperty("33437").GetDouble(), 9);
    }

    [Fact]
    public void The_truth_lies_beside_the_frames()
    {
        var told = new List<int>();
        var sequence = new FrameSequence(3, 20, 2.5);
        sequence.Write(Scene(), _folder, FrameFormat.Fits, progress: new Listener(told));
        Assert.Equal(Enumerable.Range(1, 3), told);
        List<RenderedFrame> frames = sequence.Render(Scene()).ToList();
        string[] lines = File.ReadAllLines(Path.Combine(_folder, "truth-stars.csv"));
        Assert.Equal("frame,star,magnitude,x_px,y_px,trail_x_px,trail_y_px,electrons,saturated", lines[0]);
        Assert.Equal(frames.Sum(f => f.Truth.Count), lines.Length - 1);
        string[] first = lines[1].Split(',');
        Assert.Equal(frames[0].Truth[0].Mean.X, double.Parse(first[3], CultureInfo.InvariantCulture), 4);
        using JsonDocument json = JsonDocument.Parse(File.ReadAllText(Path.Combine(_folder, "truth-frames.json")));
        JsonElement second = json.RootElement.GetProperty("frames")[1];
        Assert.Equal("frame-0002.fits", second.GetProperty("file").GetString());
        Assert.Equal(22.5, second.GetProperty("start_s").GetDouble());
        Assert.Equal(50.7, second.GetProperty("focal_length_mm").GetDouble());
        Assert.Equal("2027-03-04T20:00:23.1370000Z", second.GetProperty("start_utc").GetString());
    }

    // Progress<T> reports on another thread; this one reports at once.
    private sealed class Listener(List<int> told) : IProgress<int>
    {
        public void Report(int value) => told.Add(value);
    }
}
