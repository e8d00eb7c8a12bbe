// From colour to the one channel that stars are sought in: mostly green. Red and blue are noisier in a camera's picture
// (half as many pixels, amplified for white balance), and most coloured specks are hot pixels under a red or blue
// filter. On a photograph with 7 stars known in a thousand specks, a tenth of each finds as many stars as luminance by
// ITU-R BT.709 and half of the specks.
namespace Hourhinge.Frames.Reading;

internal static class Luminance
{
    /// <summary>What one step of an 8-bit channel becomes, so that 255 becomes 65535.</summary>
    public const int ShallowScale = 257;

    // Of 256, so that equal channels keep their value exactly.
    private const int Green = 204;
    private const int Other = 26;

    /// <summary>Interleaved RGB of 8 bits to counts.</summary>
    public static void OfShallow(ReadOnlySpan<byte> rgb, Span<ushort> into)
    {
        for (int i = 0, k = 0; i < into.Length; i++, k += 3)
        {
            into[i] = (ushort)((ShallowScale * ((Green * rgb[k + 1]) + (Other * (rgb[k] + rgb[k + 2])))) >> 8);
        }
    }

    /// <summary>Interleaved RGB of 16 bits to counts.</summary>
    public static void OfDeep(ReadOnlySpan<ushort> rgb, Span<ushort> into)
    {
        for (int i = 0, k = 0; i < into.Length; i++, k += 3)
        {
            into[i] = (ushort)(((Green * rgb[k + 1]) + (Other * (rgb[k] + rgb[k + 2]))) >> 8);
        }
    }
}
