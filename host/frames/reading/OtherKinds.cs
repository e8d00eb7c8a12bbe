// Files that are pictures, but of a kind that is not read here: told by name, each with what to do.
namespace Hourhinge.Frames.Reading;

internal static class OtherKinds
{
    private const string Convert = "write JPEG, PNG, TIFF or FITS instead";

    /// <summary>File name endings of such pictures.</summary>
    public static IReadOnlyList<string> Extensions { get; } =
    [
        ".heic", ".heif", ".hif", ".avif", ".webp", ".gif", ".bmp", ".jp2", ".jxl", ".psd", ".fz", ".gz", ".bz2", ".xz",
        ".zip", ".mov", ".mp4", ".avi", ".ser",
    ];

    /// <summary>What such a file is and what to do; null for one that is not known.</summary>
    public static string? Advice(ReadOnlySpan<byte> first, string path)
    {
        ReadOnlySpan<byte> brand = first.Length >= 12 && first[4..].StartsWith("ftyp"u8) ? first[8..12] : default;
        string ending = Path.GetExtension(path).ToLowerInvariant();
        if (brand.StartsWith("hei"u8) || brand.StartsWith("hev"u8) || brand.StartsWith("mif1"u8)
            || brand.StartsWith("msf1"u8) || ending is ".heic" or ".heif" or ".hif")
        {
            return "a HEIC picture: set the camera or phone to JPEG, or convert it to JPEG, PNG or TIFF.";
        }

        if (brand.StartsWith("crx"u8))
        {
            return "a raw file under another name: let its name end in .cr3.";
        }

        if (brand.Length > 0 || ending is ".avi" or ".ser"
            || (first.StartsWith("RIFF"u8) && first[8..].StartsWith("AVI"u8)))
        {
            return brand.StartsWith("avif"u8)
                ? $"an AVIF picture: {Convert}."
                : "a film: export its frames as PNG or FITS.";
        }

        return first.StartsWith("RIFF"u8) ? $"a WebP picture: {Convert}."
            : first.StartsWith("GIF8"u8) ? $"a GIF picture: {Convert}."
            : first.StartsWith("BM"u8) ? $"a BMP picture: {Convert}."
            : first.StartsWith("8BPS"u8) ? $"a layered picture (PSD): {Convert}."
            : first.StartsWith(new byte[] { 0xff, 0x0a }) || ending is ".jxl" ? $"a JPEG XL picture: {Convert}."
            : ending is ".jp2" ? $"a JPEG 2000 picture: {Convert}."
            : first.StartsWith(new byte[] { 0x1f, 0x8b }) || first.StartsWith("BZh"u8) || first.StartsWith("PK"u8)
                || first.StartsWith(new byte[] { 0xfd, (byte)'7', (byte)'z' })
                ? "a compressed file: unpack it first (gunzip, bunzip2, unxz or unzip)."
            : ending is ".fz" ? "compressed by fpack: unpack it with funpack first."
            : null;
    }
}
