// Raw files: known pixels through LibRaw, the JPEG inside where it cannot be used, files cut short, kinds refused by
// name.
using Hourhinge.Frames.Reading;
using SixLabors.ImageSharp;
using SixLabors.ImageSharp.PixelFormats;
using Xunit.Abstractions;

namespace Hourhinge.Tests.Host.Frames.Reading;

public sealed class RawReaderTests(ITestOutputHelper output) : IDisposable
{
    private const int Width = 640;
    private const int Height = 400;
    private readonly DirectoryInfo _folder = Directory.CreateTempSubdirectory("raw-");

    public void Dispose() => _folder.Delete(true);

    /// <summary>LibRaw 0.20.2 (Debian libraw20) decodes; the pixels are ours. Green pixels of each square of two, whose
    /// place in it depends on the pattern.</summary>
    [SkippableTheory]
    [InlineData(0, 1, 1, 2)]
    [InlineData(2, 1, 1, 0)]
    [InlineData(1, 0, 2, 1)]
    [InlineData(1, 2, 0, 1)]
    public void Known_pixels_come_through_as_the_mean_of_both_greens(byte a, byte b, byte c, byte d)
    {
        NeedLibRaw();
        ushort[] pixels = Pixels();
        TestDngFile.Write(PathOf("a.dng"), Width, pixels, [a, b, c, d]);
        using Frame frame = Read("a.dng");
        output.WriteLine($"{frame.Image.Width} x {frame.Image.Height}, {frame.Info.PixelsFrom}");
        Assert.Equal((Width / 2, Height / 2, 2), (frame.Image.Width, frame.Image.Height, frame.Info.Binning));
        Assert.Contains("by LibRaw 0.", frame.Info.PixelsFrom, StringComparison.Ordinal);
        int first = a == 1 ? 0 : 1;
        for (int y = 0; y < Height / 2; y++)
        {
            for (int x = 0; x < Width / 2; x++)
            {
                float green = (pixels[(2 * y * Width) + (2 * x) + first]
                    + pixels[(((2 * y) + 1) * Width) + (2 * x) + 1 - first]) / 2f;
                Assert.Equal(green, frame.Image[x, y]);
            }
        }
    }

    [SkippableFact]
    public void Exif_of_a_raw_file_is_read_like_that_of_a_JPEG()
    {
        NeedLibRaw();
        TestDngFile.Write(PathOf("a.dng"), Width, Pixels(), [0, 1, 1, 2]);
        using Frame frame = Read("a.dng");
        Assert.True(FrameReader.TryReadInfo(PathOf("a.dng"), FrameOverrides.None, out FrameInfo? info, out _));
        foreach (FrameInfo facts in new[] { frame.Info, info })
        {
            Assert.Equal(new DateTime(2025, 1, 31, 19, 15, 7, 250, DateTimeKind.Utc), facts.StartUtc);
            Assert.Equal((30.0, 50.0, 75.0), (facts.ExposureSeconds, facts.FocalLengthMm, facts.FocalLength35Mm));
        }
    }

    [SkippableFact]
    public void A_raw_file_cut_short_is_refused()
    {
        NeedLibRaw();
        TestDngFile.Write(PathOf("a.dng"), Width, Pixels(), [0, 1, 1, 2]);
        byte[] whole = File.ReadAllBytes(PathOf("a.dng"));
        foreach (double part in new[] { 0, 0.00002, 0.0005, 0.01, 0.5, 0.999 })
        {
            File.WriteAllBytes(PathOf("cut.dng"), whole[..(int)(whole.Length * part)]);
            Assert.False(FrameReader.TryRead(PathOf("cut.dng"), FrameOverrides.None, out _, out string refusal));
            output.WriteLine(refusal);
            Assert.StartsWith("cut.dng: ", refusal, StringComparison.Ordinal);
        }

        // Bytes that are no raw file at all, and a raw file with bytes changed, end in a sentence too.
        var random = new Random(3);
        for (int k = 0; k < 60; k++)
        {
            byte[] spoilt = (byte[])whole.Clone();
            for (int n = 0; n < 6; n++)
            {
                spoilt[random.Next(600)] = (byte)random.Next(256);
            }

            File.WriteAllBytes(PathOf("bad.dng"), spoilt);
            bool read = FrameReader.TryRead(PathOf("bad.dng"), FrameOverrides.None, out Frame? frame, out string error);
            frame?.Dispose();
            Assert.True(read || error.StartsWith("bad.dng: ", StringComparison.Ordinal), error);
        }
    }

    [Fact]
    public void What_LibRaw_cannot_open_is_read_from_the_JPEG_inside()
    {
        using var picture = new Image<Rgb24>(1200, 800, new Rgb24(40, 40, 40));
        picture[600, 400] = new Rgb24(250, 250, 250);
        using var jpeg = new MemoryStream();
        picture.SaveAsJpeg(jpeg);
        // No maker's raw file: only the picture in the middle of other bytes.
        byte[] bytes = [.. Enumerable.Repeat((byte)7, 5000), .. jpeg.ToArray(), .. Enumerable.Repeat((byte)9, 5000)];
        File.WriteAllBytes(PathOf("b.orf"), bytes);
        using Frame frame = Read("b.orf");
        output.WriteLine(frame.Info.PixelsFrom);
        Assert.Equal((1200, 800, 1), (frame.Image.Width, frame.Image.Height, frame.Info.Binning));
        Assert.StartsWith("the JPEG inside the raw file, 1200 x 800 (", frame.Info.PixelsFrom,
            StringComparison.Ordinal);
        File.WriteAllBytes(PathOf("c.orf"), bytes[..5000]);
        Assert.False(FrameReader.TryRead(PathOf("c.orf"), FrameOverrides.None, out _, out string refusal));
        output.WriteLine(refusal);
        Assert.Contains("LibRaw", refusal, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("a.heic", "0000001866747970686569630000000068656963", "HEIC")]
    [InlineData("a.jpg", "0000001866747970686569630000000068656963", "HEIC")]
    [InlineData("a.fits.fz", "504B0304000000000000000000000000", "unzip")]
    [InlineData("a.fits.gz", "1F8B0800000000000000000000000000", "gunzip")]
    [InlineData("a.webp", "524946460000000057454250565038200000", "WebP")]
    [InlineData("a.png", "47494638396101000100000000000000", "GIF")]
    [InlineData("a.mov", "0000001466747970717420200000000071742020", "film")]
    public void Other_kinds_are_refused_by_name(string name, string hex, string words)
    {
        File.WriteAllBytes(PathOf(name), Convert.FromHexString(hex));
        Assert.False(FrameReader.TryRead(PathOf(name), FrameOverrides.None, out _, out string refusal));
        output.WriteLine(refusal);
        Assert.Contains(words, refusal, StringComparison.Ordinal);
    }

    [Fact]
    public void A_mixed_folder_names_what_it_leaves_out()
    {
        foreach (string name in new[] { "1.CR2", "1.JPG", "2.jpg", "3.heic", "4.fits.fz", "dump.bin", ".state" })
        {
            File.WriteAllText(PathOf(name), "x");
        }

        var folder = FrameFolder.Of(_folder.FullName);
        Assert.Equal(["1.CR2", "2.jpg", "3.heic", "4.fits.fz"], folder.Files.Select(Path.GetFileName));
        Assert.Equal(
            ["no frames by their names: dump.bin.", "the raw file of the same shot is taken instead of 1.JPG."],
            folder.Remarks);
    }

    private static void NeedLibRaw() => Skip.If(LibRaw.Loaded.Library is null,
        $"SKIPPED, NOTHING WAS CHECKED: {LibRaw.Loaded.Reason}.");

    private static ushort[] Pixels()
    {
        var random = new Random(1);
        return [.. Enumerable.Range(0, Width * Height).Select(_ => (ushort)random.Next(200, 60_000))];
    }

    private string PathOf(string name) => Path.Combine(_folder.FullName, name);

    private Frame Read(string name)
    {
        Assert.True(FrameReader.TryRead(PathOf(name), FrameOverrides.None, out Frame? frame, out string refusal),
            refusal);
        return frame;
    }
}
