// Refuses raw files that were cut short: LibRaw fills what is missing with black. Most raw files are TIFF inside (TIFF
// 6.0; TIFF/EP, ISO 12234-2): every strip, tile and embedded picture must lie within the file. Others are boxes
// (ISO/IEC 14496-12) whose lengths must add up, or name the places of their parts in a fixed head.
using System.Buffers.Binary;

namespace Hourhinge.Frames.Reading;

internal static class RawCompleteness
{
    private const int MaxDirectories = 64;
    private const int MaxParts = 1_000_000;

    /// <summary>Throws where a part lies beyond the end.</summary>
    public static void Check(byte[] file)
    {
        if (file.Length < 16)
        {
            throw new FrameReadException(file.Length == 0
                ? "the file is empty."
                : "truncated: a raw file has more than 16 bytes.");
        }

        ReadOnlySpan<byte> head = file.AsSpan(0, 16);
        bool whole = IsTiff(head) ? TiffEnds(file)
            : head[4..].StartsWith("ftyp"u8) ? BoxesEnd(file)
            : !head.StartsWith("FUJIFILM"u8) || PartsEnd(file);
        if (!whole)
        {
            throw new FrameReadException("truncated: the raw file ends before its picture does.");
        }
    }

    // 42 after the byte order; two makers write other marks into a TIFF otherwise.
    private static bool IsTiff(ReadOnlySpan<byte> head) => head.StartsWith("II*\0"u8) || head.StartsWith("MM\0*"u8)
        || head.StartsWith("IIRO"u8) || head.StartsWith("IIRS"u8) || head.StartsWith("MMOR"u8)
        || head.StartsWith("IIU\0"u8);

    private static bool TiffEnds(byte[] file)
    {
        var tiff = new TiffBytes(file);
        var waiting = new Stack<long>();
        var seen = new HashSet<long>();
        waiting.Push(tiff.Word(4, 4));
        while (waiting.TryPop(out long at))
        {
            if (at == 0 || !seen.Add(at) || seen.Count > MaxDirectories)
            {
                continue;
            }

            if (at + 2 > file.Length)
            {
                return false;
            }

            int entries = (int)tiff.Word(at, 2);
            if (at + 6 + (12L * entries) > file.Length)
            {
                return false;
            }

            var places = new Dictionary<long, long[]>();
            for (int i = 0; i < entries; i++)
            {
                long entry = at + 2 + (12L * i), tag = tiff.Word(entry, 2);
                if (tag is not (273 or 279 or 324 or 325 or 330 or 513 or 514 or 34665))
                {
                    continue;
                }

                if (tiff.Values(entry) is not { } values)
                {
                    return false;
                }

                places[tag] = values;
            }

            foreach (long next in (places.GetValueOrDefault(330) ?? []).Concat(places.GetValueOrDefault(34665) ?? []))
            {
                waiting.Push(next);
            }

            waiting.Push(tiff.Word(at + 2 + (12L * entries), 4));
            if (!Inside(places, 273, 279, file.Length) || !Inside(places, 324, 325, file.Length)
                || !Inside(places, 513, 514, file.Length))
            {
                return false;
            }
        }

        return true;
    }

    private static bool Inside(Dictionary<long, long[]> places, long offsets, long lengths, long end)
    {
        long[] at = places.GetValueOrDefault(offsets) ?? [], size = places.GetValueOrDefault(lengths) ?? [];
        // All ones: the maker gives the place in a tag of its own.
        return !at.Zip(size).Any(p => p.First != uint.MaxValue && p.First + p.Second > end);
    }

    private static bool BoxesEnd(byte[] file)
    {
        long at = 0;
        while (at + 8 <= file.Length)
        {
            long size = BinaryPrimitives.ReadUInt32BigEndian(file.AsSpan((int)at));
            if (size == 1 && at + 16 <= file.Length)
            {
                size = (long)BinaryPrimitives.ReadUInt64BigEndian(file.AsSpan((int)at + 8));
            }

            if (size == 0)
            {
                return true;
            }

            if (size < 8 || size > file.Length - at)
            {
                return false;
            }

            at += size;
        }

        return at == file.Length;
    }

    // Offsets and lengths of the JPEG, the facts and the sensor's data, from byte 84.
    private static bool PartsEnd(byte[] file)
    {
        for (int at = 84; at < 108 && at + 8 <= file.Length; at += 8)
        {
            long end = (long)BinaryPrimitives.ReadUInt32BigEndian(file.AsSpan(at))
                + BinaryPrimitives.ReadUInt32BigEndian(file.AsSpan(at + 4));
            if (end > file.Length)
            {
                return false;
            }
        }

        return file.Length >= 108;
    }

    private readonly struct TiffBytes(byte[] file)
    {
        private readonly bool _little = file[0] == 'I';

        public long Word(long at, int bytes)
        {
            ReadOnlySpan<byte> raw = file.AsSpan((int)at, bytes);
            return bytes == 2
                ? (_little ? BinaryPrimitives.ReadUInt16LittleEndian(raw) : BinaryPrimitives.ReadUInt16BigEndian(raw))
                : (_little ? BinaryPrimitives.ReadUInt32LittleEndian(raw) : BinaryPrimitives.ReadUInt32BigEndian(raw));
        }

        // Null where they lie beyond the end.
        public long[]? Values(long entry)
        {
            int size = Word(entry + 2, 2) == 3 ? 2 : 4;
            long count = Word(entry + 4, 4), at = count * size > 4 ? Word(entry + 8, 4) : entry + 8;
            if (count > MaxParts || at + (count * size) > file.Length)
            {
                return null;
            }

            long[] values = new long[count];
            for (int i = 0; i < values.Length; i++)
            {
                values[i] = Word(at + ((long)i * size), size);
            }

            return values;
        }
    }
}
