// Files: exact pixels, times and zones, and refusals in words for whatever is broken.
using System.Buffers.Binary;
using System.Text;
using Hourhinge.Frames.Reading;
using SixLabors.ImageSharp;
using SixLabors.ImageSharp.Metadata.Profiles.Exif;
using SixLabors.ImageSharp.PixelFormats;
using Xunit.Abstractions;

namespace Hourhinge.Tests.Host.Frames.Reading;

public sealed class FrameReaderTests(ITestOutputHelper output) : IDisposable
{
    private readonly DirectoryInfo _folder = Directory.CreateTempSubdirectory("frames-");

    public void Dispose() => _folder.Delete(true);

    [Fact]
    public void Counts_and_floats_survive_a_FITS_file_bit_for_bit()
    {
        using FrameImage counts = Ramp(257, 31);
        Assert.Equal(0, Save("c.fits", counts).Length % 2880);
        using Frame back = Read("c.fits");
        Assert.True(back.Image.HoldsCounts);
        for (int y = 0; y < 31; y++)
        {
            Assert.True(counts.CountsRow(y).SequenceEqual(back.Image.CountsRow(y)));
        }

        using var floats = FrameImage.NewValues(33, 5);
        for (int y = 0; y < 5; y++)
        {
            for (int x = 0; x < 33; x++)
            {
                floats.ValuesRow(y)[x] = (float)Math.Sin((y * 33) + x) * MathF.Pow(10, x - 16);
            }
        }
        Save("f.fits", floats);
        using Frame second = Read("f.fits");
        for (int y = 0; y < 5; y++)
        {
            Assert.True(floats.ValuesRow(y).SequenceEqual(second.Image.ValuesRow(y)));
        }
    }

    [Fact]
    public void Scaled_and_signed_integers_follow_BSCALE_and_BZERO()
    {
        // FITS 4.0, 4.4.2.5: physical value = BZERO + BSCALE x array value; arrays are big-endian (5.2).
        File.WriteAllBytes(PathOf("s.fits"),
            Fits("BITPIX  = 16|NAXIS   = 2|NAXIS1  = 3|NAXIS2  = 1|BSCALE  = 0.5|BZERO   = 100.|BLANK   = -32768",
            0xff, 0xfe, 0x00, 0x07, 0x80, 0x00));
        using Frame frame = Read("s.fits");
        Assert.Equal(99, frame.Image[0, 0]);
        Assert.Equal(103.5f, frame.Image[1, 0]);
        Assert.Equal(100, frame.Image[2, 0]);
    }

    [Theory]
    [InlineData("BITPIX  = 8|NAXIS   = 2|NAXIS1  = 3|NAXIS2  = 1", "BITPIX is 8")]
    [InlineData("BITPIX  = 16|NAXIS   = 3|NAXIS1  = 3|NAXIS2  = 1|NAXIS3  = 3", "NAXIS is 3")]
    [InlineData("BITPIX  = 16|NAXIS   = 2|NAXIS1  = 3", "NAXIS2 is missing")]
    [InlineData("BITPIX  = 16|NAXIS   = 2|NAXIS1  = 99999|NAXIS2  = 1", "NAXIS1 is '99999'")]
    [InlineData("BITPIX  = 16|NAXIS   = 2|NAXIS1  = 3|NAXIS2  = 100", "truncated")]
    [InlineData("BITPIX  = 16|NAXIS   = 2|NAXIS1  = 1|NAXIS2  = 1|EXPTIME = abc", "EXPTIME is 'abc'")]
    [InlineData("BITPIX  = 16|NAXIS   = 2|NAXIS1  = 1|NAXIS2  = 1|DATE-OBS= '31/01/99'", "date '31/01/99'")]
    [InlineData("BITPIX  = 16|NAXIS   = 2|NAXIS1  = 1|NAXIS2  = 1|BSCALE  = 0", "BSCALE is 0")]
    public void FITS_files_out_of_reach_are_refused_by_keyword(string cards, string words)
    {
        File.WriteAllBytes(PathOf("bad.fits"), Fits(cards, 0, 0, 0, 0, 0, 0)[..2886]);
        Assert.False(FrameReader.TryRead(PathOf("bad.fits"), FrameOverrides.None, out _, out string? refusal));
        output.WriteLine(refusal);
        Assert.StartsWith("bad.fits: ", refusal, StringComparison.Ordinal);
        Assert.Contains(words, refusal, StringComparison.Ordinal);
    }

    [Fact]
    public void FITS_dates_exposure_and_overrides()
    {
        using FrameImage image = Ramp(8, 8);
        Save("t.fits", image,
            h => h.Add("DATE-OBS", "2025-01-31T21:15:07.25").Add("EXPTIME", 30).Add("OBSERVER", "it's me"));
        Assert.True(FrameReader.TryReadInfo(PathOf("t.fits"), FrameOverrides.None, out FrameInfo? info, out _));
        Assert.Equal(new DateTime(2025, 1, 31, 21, 15, 7, 250, DateTimeKind.Utc), info.StartUtc);
        Assert.Equal(0.01, info.StampResolutionSeconds, 6);
        Assert.True(FrameReader.TryReadInfo(PathOf("t.fits"), new FrameOverrides(2.25, 32), out info, out _));
        Assert.Equal(new DateTime(2025, 1, 31, 21, 15, 21, DateTimeKind.Utc), info.MidUtc);
    }

    /// <summary>
    /// TAI - UTC = 37 s since 2017-01-01 (IERS Bulletin C 52); TT = TAI + 32.184 s (IAU 1991, Resolution A4). The same
    /// moment by astropy 5.2.1 (ERFA): 21:15:00 UTC = 21:15:37 TAI = 21:16:09.184 TT.
    /// </summary>
    [Theory]
    [InlineData("UTC", "2025-01-31T21:15:00.000")]
    [InlineData("TAI", "2025-01-31T21:15:37.000")]
    [InlineData("TT", "2025-01-31T21:16:09.184")]
    public void FITS_time_scales_are_brought_to_UTC(string scale, string date)
    {
        using FrameImage image = Ramp(8, 8);
        Save("t.fits", image, h => h.Add("DATE-OBS", date).Add("TIMESYS", scale).Add("EXPTIME", 30));
        Assert.True(FrameReader.TryReadInfo(PathOf("t.fits"), FrameOverrides.None, out FrameInfo? info, out _));
        Assert.Equal(0, (info.StartUtc!.Value - new DateTime(2025, 1, 31, 21, 15, 0)).TotalSeconds, 4);
    }

    /// <summary>FITS 4.0, table 35: DATE-BEG is the start of the observation, DATE-AVG its middle.</summary>
    [Theory]
    [InlineData("DATE-BEG", 0)]
    [InlineData("DATE-OBS", 0)]
    [InlineData("DATE-AVG", -20)]
    public void FITS_DATE_AVG_is_the_middle_of_the_exposure(string key, double startAfterStampSec)
    {
        using FrameImage image = Ramp(8, 8);
        Save("t.fits", image, h => h.Add(key, "2025-01-31T21:15:00").Add("EXPTIME", 40));
        Assert.True(FrameReader.TryReadInfo(PathOf("t.fits"), FrameOverrides.None, out FrameInfo? info, out _));
        var stamp = new DateTime(2025, 1, 31, 21, 15, 0, DateTimeKind.Utc);
        Assert.Equal(startAfterStampSec, (info.StartUtc!.Value - stamp).TotalSeconds, 6);
        Assert.Equal(startAfterStampSec + 20, (info.MidUtc!.Value - stamp).TotalSeconds, 6);
    }

    [Fact]
    public void Twelve_bits_in_sixteen_come_through_PNG_and_TIFF_exactly()
    {
        using var png = new Image<L16>(300, 40);
        for (int y = 0; y < 40; y++)
        {
            for (int x = 0; x < 300; x++)
            {
                png[x, y] = new L16((ushort)(((x * 41) + (y * 7)) % 4096));
            }
        }
        png.SaveAsPng(PathOf("a.png"));
        WriteTiff16(PathOf("a.tif"), png);
        foreach (string? name in new[] { "a.png", "a.tif" })
        {
            using Frame frame = Read(name);
            Assert.Equal(1, frame.Image.Quantum);
            for (int y = 0; y < 40; y++)
            {
                for (int x = 0; x < 300; x++)
                {
                    Assert.Equal(png[x, y].PackedValue, frame.Image[x, y]);
                }
            }
        }
    }

    [Theory]
    [InlineData("jpg", "+02:00", null, 19)]
    [InlineData("jpg", null, 1.0, 20)]
    [InlineData("jpg", null, null, 21)]
    [InlineData("tif", "-03:30", 5.0, 24.5)]
    public void Exif_times_carry_sub_seconds_and_zone(string kind, string? zone, double? givenZone, double hourUtc)
    {
        using var image = new Image<Rgb24>(64, 48, new Rgb24(40, 40, 40));
        ExifProfile exif = image.Metadata.ExifProfile = new ExifProfile();
        exif.SetValue(ExifTag.DateTimeOriginal, "2025:01:31 21:15:07");
        exif.SetValue(ExifTag.SubsecTimeOriginal, "25");
        exif.SetValue(ExifTag.ExposureTime, new Rational(30, 1));
        exif.SetValue(ExifTag.FocalLength, new Rational(50, 1));
        if (zone is not null)
        {
            exif.SetValue(ExifTag.OffsetTimeOriginal, zone);
        }
        // The TIFF encoder takes the tags from the picture inside the file.
        image.Frames.RootFrame.Metadata.ExifProfile = exif;
        image.Save(PathOf("e." + kind));
        var overrides = new FrameOverrides(ZoneOffset: givenZone is { } z ? TimeSpan.FromHours(z) : null);
        Assert.True(FrameReader.TryReadInfo(PathOf("e." + kind), overrides, out FrameInfo? info, out string? refusal),
            refusal);
        Assert.Equal(new DateTime(2025, 1, 31, 0, 15, 7, 250, DateTimeKind.Utc).AddHours(hourUtc), info.StartUtc);
        Assert.Equal(30, info.ExposureSeconds);
        Assert.Equal(50, info.FocalLengthMm);
        Assert.Equal(0.01, info.StampResolutionSeconds, 6);
        using Frame frame = Read("e." + kind);
        Assert.InRange(frame.Image[30, 20], 39 * 257, 41 * 257);
    }

    [Fact]
    public void Cut_and_scrambled_files_give_an_error_message_and_no_exception()
    {
        using var image = new Image<Rgb24>(320, 240);
        var random = new Random(4);
        for (int y = 0; y < 240; y++)
        {
            for (int x = 0; x < 320; x++)
            {
                image[x, y] = new Rgb24((byte)random.Next(256), (byte)random.Next(256), (byte)random.Next(256));
            }
        }
        image.SaveAsJpeg(PathOf("k.jpg"));
        image.SaveAsPng(PathOf("k.png"));
        image.SaveAsTiff(PathOf("k.tif"));
        using FrameImage ramp = Ramp(320, 240);
        Save("k.fits", ramp);
        foreach (string? name in new[] { "k.jpg", "k.png", "k.tif", "k.fits" })
        {
            byte[] whole = File.ReadAllBytes(PathOf(name));
            foreach (double part in new[] { 0, 0.001, 0.01, 0.1, 0.5, 0.9, 0.97 })
            {
                File.WriteAllBytes(PathOf("cut-" + name), whole[..(int)(whole.Length * part)]);
                bool read =
                    FrameReader.TryRead(PathOf("cut-" + name), FrameOverrides.None, out Frame? frame,
                        out string? refusal);
                frame?.Dispose();
                Assert.False(read, $"{name} cut to {part}");
                Assert.StartsWith("cut-" + name + ": ", refusal, StringComparison.Ordinal);
                output.WriteLine(refusal);
            }
            for (int k = 0; k < 40; k++)
            {
                byte[] spoilt = (byte[])whole.Clone();
                for (int n = 0; n < 20; n++)
                {
                    spoilt[random.Next(k % 2 == 0 ? Math.Min(600, spoilt.Length) : spoilt.Length)] =
                        (byte)random.Next(256);
                }

                File.WriteAllBytes(PathOf("bad-" + name), spoilt);
                if (FrameReader.TryRead(PathOf("bad-" + name), FrameOverrides.None, out Frame? frame,
                    out string? refusal))
                {
                    frame.Dispose();
                }
                else
                {
                    Assert.StartsWith("bad-" + name + ": ", refusal, StringComparison.Ordinal);
                }
            }
        }
        Assert.False(FrameReader.TryRead(PathOf("none.fits"), FrameOverrides.None, out _, out string? missing));
        Assert.StartsWith("none.fits: ", missing, StringComparison.Ordinal);
    }

    private static FrameImage Ramp(int width, int height)
    {
        var image = FrameImage.NewCounts(width, height);
        for (int y = 0; y < height; y++)
        {
            for (int x = 0; x < width; x++)
            {
                image.CountsRow(y)[x] = (ushort)((x * 8191) + (y * 257));
            }
        }
        return image;
    }

    private string PathOf(string name) => Path.Combine(_folder.FullName, name);

    private FileInfo Save(string name, FrameImage image, Action<TestFitsCards>? extra = null)
    {
        using (FileStream file = File.Create(PathOf(name)))
        {
            TestFitsFile.Write(file, image, extra);
        }

        return new FileInfo(PathOf(name));
    }

    private Frame Read(string name)
    {
        Assert.True(FrameReader.TryRead(PathOf(name), FrameOverrides.None, out Frame? frame, out string? refusal),
            refusal);
        return frame;
    }

    private static byte[] Fits(string cards, params byte[] pixels)
    {
        string text = string.Concat(("SIMPLE  = T|" + cards + "|END").Split('|').Select(c => c.PadRight(80)))
            .PadRight(2880);
        return Encoding.ASCII.GetBytes(text).Concat(pixels).Concat(new byte[2880 - pixels.Length]).ToArray();
    }

    // Smallest uncompressed 16-bit grey TIFF (TIFF 6.0, section 4 with BitsPerSample 16).
    private static void WriteTiff16(string path, Image<L16> image)
    {
        var entries = new (ushort Tag, ushort Type, uint Value)[]
        {
            (256, 4, (uint)image.Width), (257, 4, (uint)image.Height), (258, 3, 16), (259, 3, 1), (262, 3, 1),
            (273, 4, 200), (277, 3, 1), (278, 4, (uint)image.Height), (279, 4, (uint)(image.Width * image.Height * 2)),
            (339, 3, 1),
        };
        byte[] bytes = new byte[200 + (image.Width * image.Height * 2)];
        "II*\0"u8.CopyTo(bytes);
        BinaryPrimitives.WriteUInt32LittleEndian(bytes.AsSpan(4), 8);
        BinaryPrimitives.WriteUInt16LittleEndian(bytes.AsSpan(8), (ushort)entries.Length);
        for (int i = 0; i < entries.Length; i++)
        {
            Span<byte> e = bytes.AsSpan(10 + (12 * i));
            BinaryPrimitives.WriteUInt16LittleEndian(e, entries[i].Tag);
            BinaryPrimitives.WriteUInt16LittleEndian(e[2..], entries[i].Type);
            BinaryPrimitives.WriteUInt32LittleEndian(e[4..], 1);
            BinaryPrimitives.WriteUInt32LittleEndian(e[8..], entries[i].Value);
        }
        for (int y = 0; y < image.Height; y++)
        {
            for (int x = 0; x < image.Width; x++)
            {
                BinaryPrimitives.WriteUInt16LittleEndian(bytes.AsSpan(200 + (2 * ((y * image.Width) + x))),
                    image[x, y].PackedValue);
            }
        }
        File.WriteAllBytes(path, bytes);
    }
}
