using System.Buffers.Binary;
using System.IO.Compression;
using System.IO.Hashing;
using Hourhinge.Frames.Reading;

namespace Hourhinge.Tests.Host.Frames.Reading;

/// <summary>Files that would unpack to gigabytes are refused before a decoder allocates for them.</summary>
public sealed class DecodingBoundsTests : IDisposable
{
    private readonly string _folder = Directory.CreateTempSubdirectory("bombs-").FullName;

    public void Dispose() => Directory.Delete(_folder, recursive: true);

    [Theory]
    [InlineData("zTXt")]
    [InlineData("iTXt")]
    [InlineData("iCCP")]
    public void A_png_whose_text_unpacks_to_a_gigabyte(string kind)
    {
        using var text = new MemoryStream();
        text.Write(kind == "iTXt" ? "k\0\x01\0\0\0"u8 : "k\0\0"u8);
        using (var packer = new ZLibStream(text, CompressionLevel.Fastest, leaveOpen: true))
        {
            byte[] zeros = new byte[1 << 20];
            for (int i = 0; i < 256; i++)
            {
                packer.Write(zeros);
            }
        }

        string file = Png(64, 64, (kind, text.ToArray()));
        AssertRefused(file, "unpack to more than 8 MiB");
    }

    [Fact]
    public void A_png_with_an_honest_text_is_read()
    {
        using var text = new MemoryStream();
        text.Write("Comment\0\0"u8);
        using (var packer = new ZLibStream(text, CompressionLevel.Optimal, leaveOpen: true))
        {
            packer.Write("taken on a cold night"u8);
        }

        string file = Png(64, 64, ("zTXt", text.ToArray()));
        Assert.True(FrameReader.TryRead(file, FrameOverrides.None, out Frame? frame, out string refusal), refusal);
        frame.Dispose();
    }

    [Fact]
    public void A_png_of_60_000_by_4_000_pixels_in_a_few_bytes() =>
        AssertRefused(Png(60000, 4000), "claims 60000 by 4000 pixels");

    [Fact]
    public void A_png_beyond_268_megapixels() => AssertRefused(Png(100000, 100000), "up to 268 megapixels");

    [Theory]
    [InlineData(16000, 16000, "claims 16000 by 16000 pixels")]
    [InlineData(60000, 60000, "up to 268 megapixels")]
    public void A_tiff_of_222_bytes(int width, int height, string expected) =>
        AssertRefused(Tiff(width, height), expected);

    [Fact]
    public void A_named_pipe_is_one_sentence()
    {
        if (OperatingSystem.IsWindows())
        {
            return;
        }

        string pipe = Path.Combine(_folder, "pipe.fits");
        System.Diagnostics.Process.Start("mkfifo", [pipe]).WaitForExit();
        // Nothing is read, so nothing is measured: during the seconds of waiting other tests allocate.
        Assert.False(FrameReader.TryRead(pipe, FrameOverrides.None, out _, out string refusal));
        Assert.Contains("it may be a pipe instead of a file", refusal, StringComparison.Ordinal);
        // The reader still waits in the background; a writer lets it go.
        File.WriteAllText(pipe, "");
    }

    private static void AssertRefused(string file, string expected)
    {
        // This thread's only: other tests run beside this one, and decoding begins on the caller's thread.
        long before = GC.GetAllocatedBytesForCurrentThread();
        Assert.False(FrameReader.TryRead(file, FrameOverrides.None, out _, out string refusal));
        Assert.Contains(expected, refusal, StringComparison.Ordinal);
        Assert.InRange(GC.GetAllocatedBytesForCurrentThread() - before, 0, 64L << 20);
    }

    // A grey image of 8 bits; its rows are zeros when they are few, and missing when they are many.
    private string Png(int width, int height, params (string Kind, byte[] Data)[] more)
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
        return Written("bomb.png", file.ToArray());
    }

    // ISO/IEC 15948, 5.3: length, kind, data, CRC-32 of kind and data.
    private static void Chunk(MemoryStream file, string kind, byte[] data)
    {
        byte[] word = new byte[4];
        BinaryPrimitives.WriteInt32BigEndian(word, data.Length);
        file.Write(word);
        byte[] body = [.. System.Text.Encoding.ASCII.GetBytes(kind), .. data];
        file.Write(body);
        BinaryPrimitives.WriteUInt32BigEndian(word, Crc32.HashToUInt32(body));
        file.Write(word);
    }

    // TIFF 6.0, section 2: one directory, one strip of a few bytes.
    private string Tiff(int width, int height)
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
        return Written("bomb.tif", file.ToArray());
    }

    private string Written(string name, byte[] bytes)
    {
        string path = Path.Combine(_folder, name);
        File.WriteAllBytes(path, bytes);
        return path;
    }
}
