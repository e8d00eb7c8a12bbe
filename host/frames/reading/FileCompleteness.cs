// Tells JPEG, PNG, TIFF, FITS and raw files apart and refuses files that were cut short: decoders are forgiving and
// would fill the missing part with grey, which then looks like a cloud.
using System.Buffers.Binary;

namespace Hourhinge.Frames.Reading;

internal enum FileKind
{
    Jpeg,
    Png,
    Tiff,
    Fits,
    Raw,
}

internal static class FileCompleteness
{
    /// <summary>The kind by the first 16 bytes, and by the name for raw files, most of which begin like TIFF.</summary>
    public static FileKind KindOf(ReadOnlySpan<byte> first, string path)
    {
        if (first.Length > 0 && RawReader.IsRaw(path))
        {
            return FileKind.Raw;
        }

        if (first.StartsWith("SIMPLE  ="u8))
        {
            return FileKind.Fits;
        }

        if (first.StartsWith(new byte[] { 0xff, 0xd8, 0xff }))
        {
            return FileKind.Jpeg;
        }

        if (first.StartsWith(new byte[] { 0x89, (byte)'P', (byte)'N', (byte)'G', 13, 10, 26, 10 }))
        {
            return FileKind.Png;
        }

        if (first.StartsWith("II*\0"u8) || first.StartsWith("MM\0*"u8))
        {
            return FileKind.Tiff;
        }

        throw new FrameReadException(first.Length == 0
            ? "the file is empty."
            : OtherKinds.Advice(first, path) ?? "not a JPEG, PNG, TIFF, FITS or raw file by its first bytes.");
    }

    /// <summary>Throws where the file ends too early; leaves the stream at its start.</summary>
    public static void Check(FileStream stream, FileKind kind)
    {
        stream.Position = 0;
        bool whole = kind switch
        {
            FileKind.Jpeg => JpegEnds(stream),
            FileKind.Png => PngEnds(stream),
            FileKind.Tiff => TiffStripsInside(stream),
            _ => true,
        };
        stream.Position = 0;
        if (!whole)
        {
            throw new FrameReadException($"truncated: the {kind} file ends before its picture does.");
        }
    }

    // The picture's own end marker, FF D9, cannot occur inside entropy-coded data (ISO/IEC 10918-1, B.1.1.2),
    // but an Exif thumbnail has one too: skip the segments before the first scan.
    private static bool JpegEnds(FileStream stream)
    {
        byte[] head = new byte[4];
        stream.Position = 2;
        while (true)
        {
            if (stream.ReadAtLeast(head, 4, false) < 4 || head[0] != 0xff)
            {
                return false;
            }

            long next = stream.Position - 2 + BinaryPrimitives.ReadUInt16BigEndian(head.AsSpan(2));
            if (next > stream.Length)
            {
                return false;
            }

            stream.Position = next;
            if (head[1] == 0xda)
            {
                break;
            }
        }
        long scan = stream.Position;
        byte[] tail = new byte[(int)Math.Min(1 << 16, stream.Length - scan)];
        stream.Position = stream.Length - tail.Length;
        stream.ReadExactly(tail);
        return tail.AsSpan().LastIndexOf(new byte[] { 0xff, 0xd9 }) >= 0;
    }

    private static bool PngEnds(FileStream stream)
    {
        byte[] head = new byte[8];
        stream.Position = 8;
        while (stream.ReadAtLeast(head, 8, false) == 8)
        {
            long next = stream.Position + BinaryPrimitives.ReadUInt32BigEndian(head) + 4;
            if (next > stream.Length)
            {
                return false;
            }

            if (head.AsSpan(4).SequenceEqual("IEND"u8))
            {
                return true;
            }

            stream.Position = next;
        }
        return false;
    }

    // TIFF 6.0, section 2: strips (tags 273, 279) or tiles (324, 325) must lie inside the file.
    private static bool TiffStripsInside(FileStream stream)
    {
        bool little = stream.ReadByte() == 'I';
        stream.Position = 4;
        long directory = Word(stream, 4, little);
        if (directory + 2 > stream.Length)
        {
            return false;
        }

        stream.Position = directory;
        int entries = (int)Word(stream, 2, little);
        if (directory + 2 + (entries * 12L) > stream.Length)
        {
            return false;
        }

        var offsets = new List<long>();
        var lengths = new List<long>();
        for (int i = 0; i < entries; i++)
        {
            stream.Position = directory + 2 + (i * 12L);
            long tag = Word(stream, 2, little);
            long type = Word(stream, 2, little);
            long count = Word(stream, 4, little);
            if (tag is not (273 or 279 or 324 or 325))
            {
                continue;
            }

            int size = type == 3 ? 2 : 4;
            if (count * size > 4)
            {
                stream.Position = Word(stream, 4, little);
            }

            if (count > 1_000_000 || stream.Position + (count * size) > stream.Length)
            {
                return false;
            }

            for (long k = 0; k < count; k++)
            {
                (tag is 273 or 324 ? offsets : lengths).Add(Word(stream, size, little));
            }
        }
        for (int i = 0; i < Math.Min(offsets.Count, lengths.Count); i++)
        {
            if (offsets[i] + lengths[i] > stream.Length)
            {
                return false;
            }
        }
        return offsets.Count > 0;
    }

    private static long Word(FileStream stream, int bytes, bool little)
    {
        Span<byte> raw = stackalloc byte[4];
        stream.ReadExactly(raw[..bytes]);
        return bytes == 2
            ? (little ? BinaryPrimitives.ReadUInt16LittleEndian(raw) : BinaryPrimitives.ReadUInt16BigEndian(raw))
            : (little ? BinaryPrimitives.ReadUInt32LittleEndian(raw) : BinaryPrimitives.ReadUInt32BigEndian(raw));
    }
}
