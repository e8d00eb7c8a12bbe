// Refuses files that would unpack to far more than they hold, before any decoder allocates for them.
using System.Buffers.Binary;
using System.IO.Compression;

namespace Hourhinge.Frames.Reading;

internal static class DecodingBounds
{
    /// <summary>Largest image, pixels: 16384 by 16384.</summary>
    public const long MaxPixels = 268_435_456;

    // Deflate packs at most 1032 to 1 (RFC 1951: 258 bytes in 2 bits); no camera writes less than a byte for this many
    // pixels. Small files, such as tests and thumbnails, have the first million free.
    private const long PixelsPerByte = 2000;
    private const long FreePixels = 1_000_000;
    private const int MaxTextBytes = 8 << 20;
    private const int MaxDirectories = 16;

    /// <summary>Throws when an image of this size cannot come from a file of this length.</summary>
    public static void CheckPixels(long width, long height, long fileBytes)
    {
        // Each factor first: their product may not fit.
        if (width > MaxPixels || height > MaxPixels || width * height > MaxPixels)
        {
            throw new FrameReadException($"the image is {width} by {height}; up to 268 megapixels can be read here.");
        }

        if (width * height > FreePixels + (fileBytes * PixelsPerByte))
        {
            throw new FrameReadException($"the image claims {width} by {height} pixels in {fileBytes} bytes.");
        }
    }

    /// <summary>A PNG's chunks (ISO/IEC 15948, 5 and 11): size of the image, unpacked size of text and colour
    /// profiles.</summary>
    public static void CheckPng(Stream stream)
    {
        byte[] head = new byte[8];
        stream.Position = 8;
        long text = 0;
        while (stream.ReadAtLeast(head, 8, false) == 8)
        {
            long length = BinaryPrimitives.ReadUInt32BigEndian(head);
            long next = stream.Position + length + 4;
            ReadOnlySpan<byte> kind = head.AsSpan(4);
            if (kind.SequenceEqual("IHDR"u8) && length >= 8)
            {
                byte[] size = new byte[8];
                stream.ReadExactly(size);
                CheckPixels(BinaryPrimitives.ReadUInt32BigEndian(size),
                    BinaryPrimitives.ReadUInt32BigEndian(size.AsSpan(4)), stream.Length);
            }
            else if (!kind.SequenceEqual("IDAT"u8))
            {
                text += kind.SequenceEqual("zTXt"u8) || kind.SequenceEqual("iTXt"u8) || kind.SequenceEqual("iCCP"u8)
                    ? UnpackedBytes(stream, length) : length;
                if (text > MaxTextBytes)
                {
                    throw new FrameReadException("its texts and colour profiles unpack to more than 8 MiB.");
                }
            }

            stream.Position = Math.Min(next, stream.Length);
        }
    }

    /// <summary>A TIFF's directories (TIFF 6.0, section 2): size of every image, and no value outside the
    /// file.</summary>
    public static void CheckTiff(Stream stream)
    {
        stream.Position = 0;
        bool little = stream.ReadByte() == 'I';
        stream.Position = 4;
        long at = Word(stream, 4, little);
        long pixels = 0;
        for (int n = 0; at != 0; n++)
        {
            if (n == MaxDirectories)
            {
                throw new FrameReadException($"it holds more than {MaxDirectories} images.");
            }

            stream.Position = at;
            int entries = (int)Word(stream, 2, little);
            long width = 0;
            long height = 0;
            for (int i = 0; i < entries; i++)
            {
                stream.Position = at + 2 + (i * 12L);
                long tag = Word(stream, 2, little);
                long type = Word(stream, 2, little);
                long bytes = Word(stream, 4, little) * BytesOf(type);
                if (bytes > stream.Length)
                {
                    throw new FrameReadException($"TIFF tag {tag} claims {bytes} bytes in a file of {stream.Length}.");
                }

                if (tag is 256 or 257)
                {
                    long value = Word(stream, type == 3 ? 2 : 4, little);
                    (width, height) = tag == 256 ? (value, height) : (width, value);
                }
            }

            CheckPixels(width, height, stream.Length);
            pixels += width * height;
            CheckPixels(pixels, 1, stream.Length);
            stream.Position = at + 2 + (entries * 12L);
            at = Word(stream, 4, little);
        }

        stream.Position = 0;
    }

    // Keyword, then separators up to the zlib stream, which begins with 0x78 or another header of RFC 1950.
    private static long UnpackedBytes(Stream stream, long length)
    {
        if (length > MaxTextBytes)
        {
            return length;
        }

        byte[] chunk = new byte[length];
        if (stream.ReadAtLeast(chunk, chunk.Length, false) < chunk.Length)
        {
            return length;
        }

        long largest = length;
        for (int start = chunk.AsSpan().IndexOf((byte)0); start >= 0 && start < chunk.Length - 2; start++)
        {
            if ((chunk[start] & 0x0f) != 8 || ((chunk[start] << 8) + chunk[start + 1]) % 31 != 0)
            {
                continue;
            }

            largest = Math.Max(largest, Inflate(chunk, start));
            if (largest > MaxTextBytes || start > 400)
            {
                break;
            }
        }

        return largest;
    }

    private static long Inflate(byte[] chunk, int start)
    {
        using var packed = new ZLibStream(new MemoryStream(chunk, start, chunk.Length - start),
            CompressionMode.Decompress);
        byte[] buffer = new byte[1 << 16];
        long total = 0;
        try
        {
            for (int got = packed.Read(buffer); got > 0 && total <= MaxTextBytes; got = packed.Read(buffer))
            {
                total += got;
            }
        }
        catch (InvalidDataException)
        {
            // No zlib stream begins here, or it is damaged: what came out so far counts.
        }

        return total;
    }

    private static int BytesOf(long type) => type switch
    {
        1 or 2 or 6 or 7 => 1,
        3 or 8 => 2,
        5 or 10 or 12 => 8,
        _ => 4,
    };

    private static long Word(Stream stream, int bytes, bool little)
    {
        Span<byte> raw = stackalloc byte[4];
        if (stream.ReadAtLeast(raw[..bytes], bytes, false) < bytes)
        {
            throw new FrameReadException("truncated: the Tiff file ends before its picture does.");
        }

        return bytes == 2
            ? (little ? BinaryPrimitives.ReadUInt16LittleEndian(raw) : BinaryPrimitives.ReadUInt16BigEndian(raw))
            : (little ? BinaryPrimitives.ReadUInt32LittleEndian(raw) : BinaryPrimitives.ReadUInt32BigEndian(raw));
    }
}
