// Writes a frame as a 16-bit grey TIFF with an Exif directory. Written here because ImageSharp 2.1 takes 16-bit grey
// and saves 8 bits of it without a word.

using System.Buffers.Binary;
using System.Runtime.InteropServices;
using System.Text;
using Hourhinge.Starfield.Render;
using Hourhinge.Starfield.Scenes;

namespace Hourhinge.Starfield.Files;

/// <summary>TIFF 6.0 (Adobe 1992), little-endian, uncompressed, one strip; Exif directory by Exif 2.32.</summary>
public static class TiffFile
{
    private const int Short = 3, Long = 4, Ascii = 2, Rational = 5;

    private readonly record struct Entry(int Tag, int Type, int Count, byte[] Value);

    /// <summary>Writes a frame with all of its bits.</summary>
    public static void Write(string path, RenderedFrame frame, CameraClock clock)
    {
        ArgumentNullException.ThrowIfNull(frame);
        ArgumentNullException.ThrowIfNull(clock);
        Sensor sensor = frame.Scene.Sensor;
        ExifTime time = ExifTime.Of(frame, clock);
        var exif = new List<Entry>
        {
            Fraction(0x829A, frame.ExposureSeconds, 10000),
            Fraction(0x829D, frame.Lens.FNumber, 10),
            Text(0x9003, time.Stamp),
            Text(0x9011, time.Zone),
        };
        if (time.SubSecond is { } subSecond)
        {
            exif.Add(Text(0x9291, subSecond));
        }

        exif.Add(Fraction(0x920A, frame.Lens.StatedFocalLengthMm, 100));

        // Order in the file: header, pixels, main directory, Exif directory.
        const int PixelsAt = 8;
        int pixelBytes = sensor.WidthPx * sensor.HeightPx * 2, mainAt = PixelsAt + pixelBytes;
        List<Entry> Main(int exifAt) => new()
        {
            Number(256, Long, sensor.WidthPx),
            Number(257, Long, sensor.HeightPx),
            Number(258, Short, 16),
            Number(259, Short, 1), // not compressed
            Number(262, Short, 1), // black is zero
            Text(271, "synthetic"),
            Text(272, "rendered, not photographed"),
            Number(273, Long, PixelsAt),
            Number(277, Short, 1),
            Number(278, Long, sensor.HeightPx),
            Number(279, Long, pixelBytes),
            Text(306, time.Stamp),
            Number(34665, Long, exifAt),
        };
        int exifAt = mainAt + Directory(Main(0), mainAt).Length;

        using FileStream file = File.Create(path);
        file.Write("II*\0"u8);
        file.Write(Bytes(mainAt));
        WritePixels(file, frame.Pixels.Span);
        file.Write(Directory(Main(exifAt), mainAt));
        file.Write(Directory(exif.OrderBy(e => e.Tag).ToList(), exifAt));
    }

    private static void WritePixels(FileStream file, ReadOnlySpan<ushort> pixels)
    {
        if (BitConverter.IsLittleEndian)
        {
            file.Write(MemoryMarshal.AsBytes(pixels));
            return;
        }
        ushort[] swapped = new ushort[pixels.Length];
        BinaryPrimitives.ReverseEndianness(pixels, swapped);
        file.Write(MemoryMarshal.AsBytes<ushort>(swapped));
    }

    // A directory and the values that do not fit into its four-byte fields, which follow it.
    private static byte[] Directory(List<Entry> entries, int at)
    {
        int tableLength = 2 + (12 * entries.Count) + 4;
        var table = new MemoryStream();
        var values = new MemoryStream();
        table.Write(Bytes(entries.Count).AsSpan(0, 2));
        foreach (Entry e in entries)
        {
            table.Write(Bytes(e.Tag).AsSpan(0, 2));
            table.Write(Bytes(e.Type).AsSpan(0, 2));
            table.Write(Bytes(e.Count));
            if (e.Value.Length <= 4)
            {
                table.Write(e.Value);
                table.Write(new byte[4 - e.Value.Length]);
                continue;
            }
            table.Write(Bytes(at + tableLength + (int)values.Length));
            values.Write(e.Value);
            if (values.Length % 2 != 0)
            {
                values.WriteByte(0); // values begin on even bytes
            }
        }
        table.Write(Bytes(0));
        values.WriteTo(table);
        return table.ToArray();
    }

    private static Entry Number(int tag, int type, int value) =>
        new(tag, type, 1, type == Short ? Bytes(value)[..2] : Bytes(value));

    private static Entry Text(int tag, string text) =>
        new(tag, Ascii, text.Length + 1, Encoding.ASCII.GetBytes(text + '\0'));

    private static Entry Fraction(int tag, double value, int denominator) => new(
        tag, Rational, 1, Bytes((int)Math.Round(value * denominator)).Concat(Bytes(denominator)).ToArray());

    private static byte[] Bytes(int value)
    {
        byte[] bytes = new byte[4];
        BinaryPrimitives.WriteInt32LittleEndian(bytes, value);
        return bytes;
    }
}
