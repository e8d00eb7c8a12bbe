using System.Buffers.Binary;
using System.IO.Compression;
using System.IO.Hashing;
using System.Text;

namespace Hourhinge.Tests.Support;

/// <summary>Small image files that claim, or unpack to, far more than they are.</summary>
internal static class DamagedFiles
{
    /// <summary>A chunk's head and then zeros, packed: <paramref name="mebibytes"/> of them.</summary>
    public static byte[] PackedZeros(ReadOnlySpan<byte> head, int mebibytes)
    {
        using var text = new MemoryStream();
        text.Write(head);
        using (var packer = new ZLibStream(text, CompressionLevel.Fastest, leaveOpen: true))
        {
            byte[] zeros = new byte[1 << 20];
            for (int i = 0; i < mebibytes; i++)
            {
                packer.Write(zeros);
            }
        }

        return text.ToArray();
    }

    /// <summary>A grey image of 8 bits; its rows are zeros when they are few, and missing when they are many.</summary>
    public static byte[] Png(int width, int height, params (string Kind, byte[] Data)[] more)
    {
        using var file = new MemoryStream();
        file.Write([0x89, (byte)'P', (byte)'N', (byte)'G', 13, 10, 26, 10]);
        byte[] head = new byte[13];
        BinaryPrimitives.WriteInt32BigEndian(head, width);
        BinaryPrimitives.WriteInt32BigEndian(head.AsSpan(4), height);
        head[8] = 8;
        Chunk(file, "IHDR", head);
        foreach ((string kind, byte[] data) in more)
        {
            Chunk(file, kind, data);
        }

        using var rows = new MemoryStream();
        using (var packer = new ZLibStream(rows, CompressionLevel.Optimal, leaveOpen: true))
        {
            packer.Write(new byte[Math.Min(1 << 20, (width + 1L) * height)]);
        }

        Chunk(file, "IDAT", rows.ToArray());
        Chunk(file, "IEND", []);
        return file.ToArray();
    }

    // ISO/IEC 15948, 5.3: length, kind, data, CRC-32 of kind and data.
    private static void Chunk(MemoryStream file, string kind, byte[] data)
    {
        byte[] word = new byte[4];
        BinaryPrimitives.WriteInt32BigEndian(word, data.Length);
        file.Write(word);
        byte[] body = [.. Encoding.ASCII.GetBytes(kind), .. data];
        file.Write(body);
        BinaryPrimitives.WriteUInt32BigEndian(word, Crc32.HashToUInt32(body));
        file.Write(word);
    }

    /// <summary>222 bytes that claim a size. TIFF 6.0, section 2: one directory, one strip.</summary>
    public static byte[] Tiff(int width, int height)
    {
        using var file = new MemoryStream();
        using var writer = new BinaryWriter(file);
        (ushort Tag, uint Value)[] tags = [(256, (uint)width), (257, (uint)height), (258, 16), (259, 1), (262, 1),
            (273, 150), (277, 1), (278, (uint)height), (279, 72)];
        writer.Write("II*\0"u8);
        writer.Write(8u);
        writer.Write((ushort)tags.Length);
        foreach ((ushort tag, uint value) in tags)
        {
            writer.Write(tag);
            writer.Write((ushort)4);
            writer.Write(1u);
            writer.Write(value);
        }

        writer.Write(0u);
        writer.Write(new byte[222 - file.Length]);
        return file.ToArray();
    }
}
