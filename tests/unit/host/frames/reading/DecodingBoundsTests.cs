using System.IO.Compression;
using Hourhinge.Frames.Reading;
using Hourhinge.Tests.Support;

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
        string file =
            Png(64, 64, (kind, DamagedFiles.PackedZeros(kind == "iTXt" ? "k\0\x01\0\0\0"u8 : "k\0\0"u8, 256)));
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

    private string Png(int width, int height, params (string Kind, byte[] Data)[] more) =>
        Written("bomb.png", DamagedFiles.Png(width, height, more));

    private string Tiff(int width, int height) => Written("bomb.tif", DamagedFiles.Tiff(width, height));

    private string Written(string name, byte[] bytes)
    {
        string path = Path.Combine(_folder, name);
        File.WriteAllBytes(path, bytes);
        return path;
    }
}
