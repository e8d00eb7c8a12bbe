// Writes a frame as a FITS file: 16-bit integers with the standard's offset for unsigned numbers.

using System.Buffers.Binary;
using System.Globalization;
using System.Text;
using Hourhinge.Starfield.Render;
using Hourhinge.Starfield.Scenes;

namespace Hourhinge.Starfield.Files;

/// <summary>FITS by the standard, version 4.0 (IAU FITS Working Group 2018), primary array only.</summary>
public static class FitsWriter
{
    private const int Block = 2880, CardLength = 80;

    /// <summary>
    /// Writes a frame. Rows go into the file from the top of the picture down, so a viewer that counts FITS rows upward
    /// shows it upside down; a COMMENT card says so.
    /// </summary>
    public static void Write(string path, RenderedFrame frame, CameraClock clock)
    {
        ArgumentNullException.ThrowIfNull(frame);
        ArgumentNullException.ThrowIfNull(clock);
        using FileStream file = File.Create(path);
        file.Write(Header(frame, clock));
        int width = frame.Scene.Sensor.WidthPx, height = frame.Scene.Sensor.HeightPx;
        ReadOnlySpan<ushort> pixels = frame.Pixels.Span;
        ushort[] row = new ushort[width];
        for (int y = 0; y < height; y++)
        {
            ReadOnlySpan<ushort> source = pixels.Slice(y * width, width);
            // Minus 32768 in two's complement is the top bit turned over; FITS is big-endian.
            for (int x = 0; x < width; x++)
            {
                row[x] = (ushort)(source[x] ^ 0x8000);
            }

            if (BitConverter.IsLittleEndian)
            {
                BinaryPrimitives.ReverseEndianness(row, row);
            }

            file.Write(System.Runtime.InteropServices.MemoryMarshal.AsBytes<ushort>(row));
        }
        long rest = file.Length % Block;
        if (rest > 0)
        {
            file.Write(new byte[Block - rest]);
        }
    }

    private static byte[] Header(RenderedFrame frame, CameraClock clock)
    {
        Sensor sensor = frame.Scene.Sensor;
        DateTime stamp = clock.Stamp(frame.StartUtc);
        string format = clock.WholeSeconds ? "yyyy-MM-ddTHH:mm:ss" : "yyyy-MM-ddTHH:mm:ss.fff";
        var text = new StringBuilder();
        void Card(string key, string value, string comment)
        {
            string card = $"{key,-8}= {value} / {comment}";
            text.Append(card.Length > CardLength ? card[..CardLength] : card.PadRight(CardLength));
        }
        void Number(string key, double value, string comment)
        {
            // A decimal point marks a floating-point number (section 4.2.4).
            string digits = value.ToString("G12", CultureInfo.InvariantCulture);
            Card(key, (digits.Contains('.', StringComparison.Ordinal) || digits.Contains('E', StringComparison.Ordinal)
                ? digits : digits + ".0").PadLeft(20), comment);
        }
        void Whole(string key, int value, string comment) =>
            Card(key, value.ToString(CultureInfo.InvariantCulture).PadLeft(20), comment);
        void Words(string key, string value, string comment) => Card(key, $"'{value,-8}'".PadRight(20), comment);

        Card("SIMPLE", "T".PadLeft(20), "FITS standard 4.0");
        Whole("BITPIX", 16, "16-bit integers");
        Whole("NAXIS", 2, "a picture");
        Whole("NAXIS1", sensor.WidthPx, "columns");
        Whole("NAXIS2", sensor.HeightPx, "rows");
        Number("BZERO", 32768, "unsigned 16-bit data");
        Number("BSCALE", 1, "");
        Words("BUNIT", "adu", "");
        Words("DATE-OBS", stamp.ToString(format, CultureInfo.InvariantCulture),
            "start of exposure by the camera's clock");
        Words("TIMESYS", "UTC", "");
        Number("EXPTIME", frame.ExposureSeconds, "[s]");
        Number("XPIXSZ", sensor.PixelPitchMicrometres, "[um] pixel pitch");
        Number("YPIXSZ", sensor.PixelPitchMicrometres, "[um] pixel pitch");
        Number("FOCALLEN", frame.Lens.StatedFocalLengthMm, "[mm] as marked on the lens");
        Number("EGAIN", sensor.GainElectronsPerAdu, "[electron/adu]");
        Number("RDNOISE", sensor.ReadNoiseElectrons, "[electron]");
        Words("IMAGETYP", "LIGHT", "");
        Words("INSTRUME", "synthetic", "rendered, not photographed");
        text.Append("COMMENT Rows run from the top of the picture down.".PadRight(CardLength));
        text.Append("END".PadRight(CardLength));
        text.Append(' ', (Block - (text.Length % Block)) % Block);
        return Encoding.ASCII.GetBytes(text.ToString());
    }
}
