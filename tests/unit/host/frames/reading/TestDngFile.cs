// The smallest uncompressed DNG that a decoder accepts (TIFF 6.0; DNG 1.4: tags 50706 to 50778), of known pixels, with
// the Exif facts of an exposure, and a JPEG preview on request.
using System.Buffers.Binary;
using System.Text;

namespace Hourhinge.Tests.Host.Frames.Reading;

internal static class TestDngFile
{
    /// <summary>Writes a mosaic, row by row.</summary>
    /// <param name="path">The file.</param>
    /// <param name="width">Columns.</param>
    /// <param name="pixels">width times height counts.</param>
    /// <param name="pattern">Colours of a square, row by row: 0 red, 1 green, 2 blue.</param>
    /// <param name="preview">A JPEG to lie inside; null for none.</param>
    public static void Write(string path, int width, ushort[] pixels, byte[] pattern, byte[]? preview = null)
    {
        int height = pixels.Length / width;
        var exif = new Directory(
            (33434, 5, Rationals((30, 1))), (36867, 2, Ascii("2025:01:31 21:15:07")), (36881, 2, Ascii("+02:00")),
            (37386, 5, Rationals((50, 1))), (37521, 2, Ascii("25")), (41989, 3, Shorts(75)));
        var parts = new List<(int Tag, int Type, byte[] Value)>
        {
            (254, 4, Longs(0)), (256, 4, Longs(width)), (257, 4, Longs(height)), (258, 3, Shorts(16)),
            (259, 3, Shorts(1)), (262, 3, Shorts(32803)), (271, 2, Ascii("Hourhinge")), (272, 2, Ascii("Test")),
            (273, 4, Longs(0)), (274, 3, Shorts(1)), (277, 3, Shorts(1)), (278, 4, Longs(height)),
            (279, 4, Longs(2 * pixels.Length)), (284, 3, Shorts(1)), (33421, 3, Shorts(2, 2)), (33422, 1, pattern),
            (34665, 4, Longs(0)), (50706, 1, [1, 4, 0, 0]), (50707, 1, [1, 1, 0, 0]),
            (50708, 2, Ascii("Hourhinge Test")), (50714, 3, Shorts(0)), (50717, 4, Longs(65535)),
            (50721, 10, Rationals((1, 1), (0, 1), (0, 1), (0, 1), (1, 1), (0, 1), (0, 1), (0, 1), (1, 1))),
            (50728, 5, Rationals((1, 1), (1, 1), (1, 1))), (50778, 3, Shorts(21)),
        };
        var main = new Directory([.. parts]);
        int exifAt = 8 + main.Length, dataAt = exifAt + exif.Length, previewAt = dataAt + (2 * pixels.Length);
        main.Set(273, dataAt);
        main.Set(34665, exifAt);
        byte[] file = new byte[previewAt + (preview?.Length ?? 0)];
        "II*\0"u8.CopyTo(file);
        BinaryPrimitives.WriteUInt32LittleEndian(file.AsSpan(4), 8);
        main.CopyTo(file, 8);
        exif.CopyTo(file, exifAt);
        for (int i = 0; i < pixels.Length; i++)
        {
            BinaryPrimitives.WriteUInt16LittleEndian(file.AsSpan(dataAt + (2 * i)), pixels[i]);
        }

        preview?.CopyTo(file, previewAt);
        File.WriteAllBytes(path, file);
    }

    private static byte[] Ascii(string text) => Encoding.ASCII.GetBytes(text + "\0");

    private static byte[] Shorts(params ushort[] values) => [.. values.SelectMany(BitConverter.GetBytes)];

    private static byte[] Longs(params int[] values) => [.. values.SelectMany(BitConverter.GetBytes)];

    private static byte[] Rationals(params (int, int)[] values) =>
        [.. values.SelectMany(v => BitConverter.GetBytes(v.Item1).Concat(BitConverter.GetBytes(v.Item2)))];

    private sealed class Directory(params (int Tag, int Type, byte[] Value)[] entries)
    {
        public int Length => 6 + (12 * entries.Length)
            + entries.Sum(e => e.Value.Length > 4 ? (e.Value.Length + 1) / 2 * 2 : 0);

        public void Set(int tag, int value)
        {
            int at = Array.FindIndex(entries, e => e.Tag == tag);
            entries[at].Value = BitConverter.GetBytes(value);
        }

        public void CopyTo(byte[] file, int start)
        {
            BinaryPrimitives.WriteUInt16LittleEndian(file.AsSpan(start), (ushort)entries.Length);
            int more = start + 6 + (12 * entries.Length);
            for (int i = 0; i < entries.Length; i++)
            {
                (int tag, int type, byte[] value) = entries[i];
                Span<byte> e = file.AsSpan(start + 2 + (12 * i), 12);
                BinaryPrimitives.WriteUInt16LittleEndian(e, (ushort)tag);
                BinaryPrimitives.WriteUInt16LittleEndian(e[2..], (ushort)type);
                int size = type switch { 1 or 2 => 1, 3 => 2, 4 => 4, _ => 8 };
                BinaryPrimitives.WriteInt32LittleEndian(e[4..], value.Length / size);
                if (value.Length <= 4)
                {
                    value.CopyTo(e[8..]);
                    continue;
                }

                BinaryPrimitives.WriteInt32LittleEndian(e[8..], more);
                value.CopyTo(file, more);
                more += (value.Length + 1) / 2 * 2;
            }
        }
    }
}
