// Writes frames as ordinary pictures with Exif: 8-bit JPEG and PNG through a camera's tone curve.
// 16-bit TIFF is TiffFile.cs.

using Hourhinge.Starfield.Render;
using Hourhinge.Starfield.Scenes;
using SixLabors.ImageSharp;
using SixLabors.ImageSharp.Formats;
using SixLabors.ImageSharp.Formats.Jpeg;
using SixLabors.ImageSharp.Formats.Png;
using SixLabors.ImageSharp.PixelFormats;

namespace Hourhinge.Starfield.Files;

/// <summary>
/// How stored numbers become 8 bits: black and white points in data numbers, then the sRGB curve (IEC 61966-2-1).
/// </summary>
public readonly record struct ToneCurve(double BlackAdu, double WhiteAdu)
{
    /// <summary>What a camera's own JPEG does: black at the bias, white at the end of the converter's range.</summary>
    public static ToneCurve OfCamera(Sensor sensor)
    {
        ArgumentNullException.ThrowIfNull(sensor);
        double step = sensor.LeftAligned ? 1 << (16 - sensor.BitDepth) : 1;
        return new ToneCurve(sensor.BiasAdu * step, ((1 << sensor.BitDepth) - 1) * step);
    }

    /// <summary>For the eye: black just under the sky's level, white some hundred electrons above it.</summary>
    public static ToneCurve Stretched(RenderedFrame frame, double whiteElectronsAboveSky = 1500)
    {
        ArgumentNullException.ThrowIfNull(frame);
        Sensor s = frame.Scene.Sensor;
        double step = s.LeftAligned ? 1 << (16 - s.BitDepth) : 1;
        double sky = s.BiasAdu + (frame.BackgroundElectrons / s.GainElectronsPerAdu);
        double variance = frame.BackgroundElectrons + (s.ReadNoiseElectrons * s.ReadNoiseElectrons);
        double noise = Math.Sqrt(variance) / s.GainElectronsPerAdu;
        return new ToneCurve((sky - (2 * noise)) * step,
            (sky + (whiteElectronsAboveSky / s.GainElectronsPerAdu)) * step);
    }

    internal byte[] Table()
    {
        byte[] table = new byte[65536];
        for (int i = 0; i < table.Length; i++)
        {
            double v = Math.Clamp((i - BlackAdu) / (WhiteAdu - BlackAdu), 0, 1);
            double curved = v <= 0.0031308 ? 12.92 * v : (1.055 * Math.Pow(v, 1 / 2.4)) - 0.055;
            table[i] = (byte)Math.Round(255 * curved);
        }
        return table;
    }
}

/// <summary>JPEG and PNG, grey.</summary>
public static class PictureFile
{
    /// <summary>Writes an 8-bit JPEG. Quality 1 to 100.</summary>
    public static void WriteJpeg(string path, RenderedFrame frame, CameraClock clock, ToneCurve curve, int quality = 95)
    {
        Check.Range(quality, 1, 100, "JPEG quality");
        var encoder = new JpegEncoder { Quality = quality, ColorType = JpegColorType.Luminance };
        WriteEightBit(path, frame, clock, curve, encoder);
    }

    /// <summary>Writes an 8-bit PNG.</summary>
    public static void WritePng(string path, RenderedFrame frame, CameraClock clock, ToneCurve curve) =>
        WriteEightBit(path, frame, clock, curve, new PngEncoder
        {
            ColorType = PngColorType.Grayscale,
            BitDepth = PngBitDepth.Bit8,
            CompressionLevel = PngCompressionLevel.BestSpeed,
        });

    private static void WriteEightBit(string path, RenderedFrame frame, CameraClock clock, ToneCurve curve,
        IImageEncoder encoder)
    {
        ArgumentNullException.ThrowIfNull(frame);
        ArgumentNullException.ThrowIfNull(clock);
        byte[] table = curve.Table();
        var pixels = new L8[frame.Pixels.Length];
        ReadOnlySpan<ushort> stored = frame.Pixels.Span;
        for (int i = 0; i < pixels.Length; i++)
        {
            pixels[i] = new L8(table[stored[i]]);
        }

        using Image<L8> image = Image.WrapMemory<L8>(pixels, frame.Scene.Sensor.WidthPx, frame.Scene.Sensor.HeightPx);
        image.Metadata.ExifProfile = ExifTags.For(frame, clock);
        using FileStream file = File.Create(path);
        image.Save(file, encoder);
    }
}
