// FITS primary images (FITS Standard 4.0): 16-bit integers with BZERO/BSCALE and 32-bit floats, two axes.
// Here: pixels, and the header's facts about the exposure.
// Not here: tables, extensions, compressed or multi-plane images: each is an error that names the keyword.
using System.Buffers.Binary;
using System.Globalization;
using System.Numerics;
using System.Runtime.CompilerServices;
using System.Runtime.InteropServices;

namespace Hourhinge.Frames.Reading;

/// <summary>Reader of FITS primary images.</summary>
public static class FitsReader
{
    private const int LargestAxis = 32768;
    private const int UnsignedZero = 32768;

    /// <summary>Reads header and pixels.</summary>
    /// <exception cref="FrameReadException">Anything the reader does not support, or a file cut short.</exception>
    public static (FitsHeader Header, FrameImage Image) Read(Stream stream)
    {
        var header = FitsHeader.Read(stream);
        if (header.Text("SIMPLE") != "T")
        {
            throw new FrameReadException("FITS keyword SIMPLE is not T: the file does not follow the standard.");
        }

        int bits = header.IntegerValue("BITPIX", -64, 64);
        if (bits is not (16 or -32))
        {
            throw new FrameReadException(
                $"FITS keyword BITPIX is {bits}; 16 (integers) and -32 (floats) can be read here.");
        }

        int axes = header.IntegerValue("NAXIS", 0, 999);
        if (axes == 0)
        {
            throw new FrameReadException(
                "FITS keyword NAXIS is 0: the picture is in an extension, where fpack puts it; "
                + "unpack it with funpack, or write it as the primary image.");
        }

        if (axes != 2)
        {
            throw new FrameReadException(
                $"FITS keyword NAXIS is {axes}; an image of 2 axes in the primary part can be read here.");
        }

        int width = header.IntegerValue("NAXIS1", 1, LargestAxis);
        int height = header.IntegerValue("NAXIS2", 1, LargestAxis);
        double zero = header.Number("BZERO") ?? 0;
        double scale = header.Number("BSCALE") ?? 1;
        if (scale == 0)
        {
            throw new FrameReadException("FITS keyword BSCALE is 0; the pixels would all be equal.");
        }

        long pixelBytes = (long)width * height * (Math.Abs(bits) / 8);
        if (pixelBytes > 4L * 268_435_456)
        {
            throw new FrameReadException(
                $"the image is {width} by {height}; up to 268 megapixels can be read here.");
        }

        if (stream.CanSeek && stream.Length - stream.Position < pixelBytes)
        {
            throw new FrameReadException(
                $"truncated: {stream.Length - stream.Position} bytes of pixels where {width} by {height} needs "
                + $"{pixelBytes}.");
        }

        bool counts = bits == 16 && zero == UnsignedZero && scale == 1 && header.Text("BLANK") is null;
        FrameImage image = counts ? FrameImage.NewCounts(width, height) : FrameImage.NewValues(width, height);
        try
        {
            if (counts)
            {
                ReadCounts(stream, image);
            }
            else if (bits == 16)
            {
                ReadIntegers(stream, image, zero, scale, header.Text("BLANK") is null
                    ? null
                    : header.IntegerValue("BLANK", short.MinValue, short.MaxValue));
            }
            else
            {
                ReadFloats(stream, image, zero, scale);
            }

            return (header, image);
        }
        catch (Exception e)
        {
            image.Dispose();
            if (e is EndOfStreamException)
            {
                throw new FrameReadException($"truncated: the pixels end before row {height}.", e);
            }

            throw;
        }
    }

    /// <summary>The header's facts: DATE-BEG or DATE-OBS (start of exposure), else DATE-AVG (its middle); EXPTIME or
    /// XPOSURE (s); FOCALLEN (mm) and XPIXSZ (micrometres): common practice, no source. Times are UTC unless TIMESYS
    /// says TAI or TT.</summary>
    public static FrameInfo Info(FitsHeader header, string name, FrameOverrides overrides)
    {
        double? exposure = FrameInfo.CheckedExposure(
            overrides.ExposureSeconds ?? header.Number("EXPTIME") ?? header.Number("XPOSURE"));
        string? middle = null;
        string? text = header.Text("DATE-BEG") ?? header.Text("DATE-OBS") ?? (middle = header.Text("DATE-AVG"));
        DateTime? start = null;
        double resolution = 1;
        if (text is not null)
        {
            // FITS 4.0, 9.1: CCYY-MM-DD[Thh:mm:ss[.s...]]
            if (!DateTime.TryParseExact(text.TrimEnd('Z'), _dateForms, CultureInfo.InvariantCulture,
                DateTimeStyles.AssumeUniversal | DateTimeStyles.AdjustToUniversal, out DateTime stamp))
            {
                throw new FrameReadException($"the FITS date '{text}' is not of the form 2025-01-31T21:15:00.5.");
            }

            if (text.Length <= 10)
            {
                throw new FrameReadException($"the FITS date '{text}' has no time of day.");
            }

            int dot = text.IndexOf('.', StringComparison.Ordinal);
            resolution = dot < 0 ? 1 : Math.Pow(10, -(text.TrimEnd('Z').Length - dot - 1));
            start = !FrameInfo.IsDated(stamp)
                ? null
                : stamp.AddSeconds(-ScaleMinusUtc(header, stamp) - overrides.ClockOffsetSeconds
                - (middle is null ? 0 : (exposure ?? 0) / 2));
        }
        return new FrameInfo(name, start, resolution, exposure,
            FrameInfo.Positive(header.Number("FOCALLEN"), FrameInfo.LongestMm),
            FrameInfo.Positive(header.Number("XPIXSZ"), FrameInfo.WidestMicron))
        {
            ZoneKnown = true,
        };
    }

    private static readonly string[] _dateForms =
    {
        "yyyy-MM-dd", "yyyy-MM-dd'T'HH:mm:ss", "yyyy-MM-dd'T'HH:mm:ss.FFFFFFF",
    };

    private static double ScaleMinusUtc(FitsHeader header, DateTime stamp)
    {
        // TAI - UTC has been 37 s since 2017-01-01 (IERS Bulletin C 52); older frames in TAI or TT are refused.
        string system = header.Text("TIMESYS") ?? "UTC";
        if (system is "UTC" or "UT" or "UT1" or "GMT")
        {
            return 0;
        }

        if (stamp.Year >= 2017 && system is "TAI" or "IAT")
        {
            return 37;
        }

        if (stamp.Year >= 2017 && system is "TT" or "TDT")
        {
            return 69.184;
        }

        throw new FrameReadException(
            $"FITS keyword TIMESYS is '{system}' in {stamp.Year}; UTC, and TAI or TT from 2017, can be read here.");
    }

    private static void ReadCounts(Stream stream, FrameImage image)
    {
        for (int y = 0; y < image.Height; y++)
        {
            Span<ushort> row = image.CountsRow(y);
            stream.ReadExactly(MemoryMarshal.AsBytes(row));
            BinaryPrimitives.ReverseEndianness(row, row);
            FlipTopBit(row);
        }
    }

    // Adding 32768 to a two's complement 16-bit number is the same as flipping its top bit.
    [MethodImpl(MethodImplOptions.AggressiveOptimization)]
    private static void FlipTopBit(Span<ushort> row)
    {
        var top = new Vector<ushort>(0x8000);
        int i = 0;
        for (; i <= row.Length - Vector<ushort>.Count; i += Vector<ushort>.Count)
        {
            (new Vector<ushort>(row[i..]) ^ top).CopyTo(row[i..]);
        }

        for (; i < row.Length; i++)
        {
            row[i] ^= 0x8000;
        }
    }

    private static void ReadIntegers(Stream stream, FrameImage image, double zero, double scale, int? blank)
    {
        short[] words = new short[image.Width];
        for (int y = 0; y < image.Height; y++)
        {
            stream.ReadExactly(MemoryMarshal.AsBytes(words.AsSpan()));
            BinaryPrimitives.ReverseEndianness(words, words);
            Span<float> row = image.ValuesRow(y);
            for (int x = 0; x < words.Length; x++)
            {
                row[x] = words[x] == blank ? (float)zero : (float)((words[x] * scale) + zero);
            }
        }
    }

    private static void ReadFloats(Stream stream, FrameImage image, double zero, double scale)
    {
        for (int y = 0; y < image.Height; y++)
        {
            Span<float> row = image.ValuesRow(y);
            Span<uint> raw = MemoryMarshal.Cast<float, uint>(row);
            stream.ReadExactly(MemoryMarshal.AsBytes(raw));
            BinaryPrimitives.ReverseEndianness(raw, raw);
            if (zero != 0 || scale != 1)
            {
                for (int x = 0; x < row.Length; x++)
                {
                    row[x] = (float)((row[x] * scale) + zero);
                }
            }
            for (int x = 0; x < row.Length; x++)
            {
                // Not-a-number marks an undefined pixel (FITS 4.0, 5.3); one of them must not poison a whole row.
                if (!float.IsFinite(row[x]))
                {
                    row[x] = (float)zero;
                }
            }
        }
    }
}
