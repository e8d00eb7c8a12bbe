// The largest JPEG inside a raw file: cameras put one there for their own display. It is sought by its markers
// (ISO/IEC 10918-1, annex B), so that no maker's layout needs to be known.
using System.Buffers.Binary;

namespace Hourhinge.Frames.Reading;

internal static class EmbeddedJpeg
{
    private static readonly byte[] _start = [0xff, 0xd8, 0xff];

    // Smaller ones are thumbnails.
    private const int MinWidth = 1000;

    /// <summary>Place of the largest complete picture at least 1000 pixels wide; null for none.</summary>
    public static (int Offset, int Length)? Largest(byte[] file)
    {
        (int Offset, int Length)? best = null;
        long most = 0;
        for (int at = 0; at < file.Length;)
        {
            int found = file.AsSpan(at).IndexOf(_start);
            if (found < 0)
            {
                break;
            }

            at += found;
            if (Parse(file.AsSpan(at)) is { } picture)
            {
                if (picture.Width >= MinWidth && picture.Pixels > most)
                {
                    (most, best) = (picture.Pixels, (at, picture.Length));
                }

                at += picture.Length;
            }
            else
            {
                at += _start.Length;
            }
        }

        return best;
    }

    // Segments up to the first scan; then the end marker, which cannot occur inside the scan's data.
    private static (int Width, long Pixels, int Length)? Parse(ReadOnlySpan<byte> bytes)
    {
        int at = 2, width = 0, height = 0;
        while (at + 4 <= bytes.Length && bytes[at] == 0xff)
        {
            byte marker = bytes[at + 1];
            int length = BinaryPrimitives.ReadUInt16BigEndian(bytes[(at + 2)..]);
            // Baseline, extended and progressive; lossless (C3) is the raw data itself.
            if (marker is 0xc0 or 0xc1 or 0xc2 && at + 9 <= bytes.Length)
            {
                height = BinaryPrimitives.ReadUInt16BigEndian(bytes[(at + 5)..]);
                width = BinaryPrimitives.ReadUInt16BigEndian(bytes[(at + 7)..]);
            }

            at += 2 + length;
            if (marker == 0xda)
            {
                int end = width > 0 && at < bytes.Length ? bytes[at..].IndexOf(new byte[] { 0xff, 0xd9 }) : -1;
                return end < 0 ? null : (width, (long)width * height, at + end + 2);
            }

            if (marker is < 0xc0 or 0xff || length < 2)
            {
                return null;
            }
        }

        return null;
    }
}
