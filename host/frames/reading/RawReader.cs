// Raw files: the green pixels of a Bayer sensor at half size, linear and uninterpolated, by LibRaw; without it the
// camera's own JPEG inside the file. The two green pixels of a square are averaged: their middle is the square's.
// Not here: LibRaw's functions (LibRaw), whether the file is complete (RawCompleteness).
using System.Runtime.InteropServices;

namespace Hourhinge.Frames.Reading;

internal static class RawReader
{
    /// <summary>File name endings of raw files.</summary>
    public static IReadOnlyList<string> Extensions { get; } =
    [
        ".cr2", ".cr3", ".crw", ".nef", ".nrw", ".arw", ".sr2", ".srf", ".srw", ".dng", ".orf", ".rw2", ".raf", ".pef",
        ".3fr", ".iiq", ".rwl", ".x3f", ".mrw", ".kdc", ".dcr", ".erf", ".mef", ".mos",
    ];

    /// <summary>True for a name of a raw file.</summary>
    public static bool IsRaw(string path) =>
        Extensions.Contains(Path.GetExtension(path), StringComparer.OrdinalIgnoreCase);

    /// <summary>Reads the pixels.</summary>
    /// <returns>The image, what it was taken from, and how many sensor pixels wide one of its pixels is.</returns>
    /// <exception cref="FrameReadException">Cut short, damaged, or not to be read here.</exception>
    public static (FrameImage Image, string Source, int Binning) Read(byte[] file)
    {
        RawCompleteness.Check(file);
        (LibRaw? library, string reason) = LibRaw.Loaded;
        if (library is not null)
        {
            (FrameImage? image, string refusal) = Green(library, file);
            if (image is not null)
            {
                return (image, $"raw, green at half size, by LibRaw {library.Version}", 2);
            }

            reason = refusal;
        }

        if (EmbeddedJpeg.Largest(file) is { } jpeg)
        {
            using var stream = new MemoryStream(file, jpeg.Offset, jpeg.Length, false);
            FrameImage image = FrameReader.DecodeLuminance(stream);
            return (image, $"the JPEG inside the raw file, {image.Width} x {image.Height} ({reason})", 1);
        }

        throw new FrameReadException($"raw file: {reason}.");
    }

    private static (FrameImage? Image, string Refusal) Green(LibRaw raw, byte[] file)
    {
        nint record = raw.Init(0);
        if (record == 0)
        {
            return (null, "LibRaw has no memory for it");
        }

        var pinned = GCHandle.Alloc(file, GCHandleType.Pinned);
        bool damaged = false;
        LibRaw.ErrorCall onError = (_, _, _) => damaged = true;
        try
        {
            raw.OnDataError(record, onError, 0);
            int error = raw.OpenBuffer(record, pinned.AddrOfPinnedObject(), (nuint)file.Length);
            if (error != 0)
            {
                return (null, $"LibRaw {raw.Version} cannot open it: {raw.TextOf(error)}");
            }

            DecodingBounds.CheckPixels(raw.RawWidth(record), raw.RawHeight(record), file.Length);
            error = raw.Unpack(record);
            if (error == 0 && !damaged)
            {
                error = raw.ToImage(record);
            }

            if (damaged || error != 0)
            {
                throw new FrameReadException(damaged
                    ? "truncated or damaged: LibRaw met the end of the data or an error in it."
                    : $"LibRaw {raw.Version} cannot decode it: {raw.TextOf(error)}.");
            }

            return Halved(raw, record);
        }
        finally
        {
            raw.Close(record);
            pinned.Free();
            GC.KeepAlive(onError);
        }
    }

    private static (FrameImage? Image, string Refusal) Halved(LibRaw raw, nint record)
    {
        int wide = raw.Width(record), high = raw.Height(record);
        nint pixels = raw.Pixels(record);
        if (pixels == 0 || wide < 4 || high < 4)
        {
            return (null, $"LibRaw {raw.Version} lays its pixels out in another way than is known here");
        }

        if (!IsBayer(raw, record))
        {
            return (null, "its sensor has another colour pattern than Bayer's");
        }

        // One green pixel in each of a square's two rows: at the first or at the second column.
        bool firstColumn = raw.Colour(record, 0, 0) is 1 or 3;
        (int above, int below) = firstColumn ? (0, 1) : (1, 0);
        (int colourAbove, int colourBelow) = (raw.Colour(record, 0, above), raw.Colour(record, 1, below));
        var image = FrameImage.NewValues(wide / 2, high / 2);
        short[] upper = new short[4 * wide], lower = new short[4 * wide];
        for (int y = 0; y < image.Height; y++)
        {
            Marshal.Copy(pixels + (nint)((long)2 * y * wide * 8), upper, 0, upper.Length);
            Marshal.Copy(pixels + (nint)((((long)2 * y) + 1) * wide * 8), lower, 0, lower.Length);
            Span<float> row = image.ValuesRow(y);
            for (int x = 0, a = (4 * above) + colourAbove, b = (4 * below) + colourBelow; x < row.Length;
                x++, a += 8, b += 8)
            {
                row[x] = ((ushort)upper[a] + (ushort)lower[b]) * 0.5f;
            }
        }

        return (image, "");
    }

    // Two greens on a diagonal, and the same in every square of two.
    private static bool IsBayer(LibRaw raw, nint record)
    {
        bool IsGreen(int row, int column) => raw.Colour(record, row, column) is 1 or 3;
        if (IsGreen(0, 0) == IsGreen(0, 1) || IsGreen(0, 0) == IsGreen(1, 0) || IsGreen(0, 0) != IsGreen(1, 1))
        {
            return false;
        }

        for (int k = 0; k < 36; k++)
        {
            if (raw.Colour(record, k / 6, k % 6) != raw.Colour(record, k / 6 % 2, k % 6 % 2))
            {
                return false;
            }
        }

        return true;
    }
}
