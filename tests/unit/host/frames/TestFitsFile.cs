// Writes small FITS files for the tests of the reader. Not the reader's code, and not the renderer's.
using System.Buffers.Binary;
using System.Globalization;
using System.Runtime.InteropServices;
using System.Text;
using Hourhinge.Frames.Reading;

namespace Hourhinge.Tests.Host.Frames;

/// <summary>A writer of FITS primary images.</summary>
public static class TestFitsFile
{
    /// <summary>Writes a primary image: counts as BITPIX 16 with BZERO 32768, floats as BITPIX -32.</summary>
    /// <param name="stream">Where to.</param>
    /// <param name="image">The pixels.</param>
    /// <param name="extra">Adds further cards (DATE-OBS, EXPTIME...) after the mandatory ones.</param>
    public static void Write(Stream stream, FrameImage image, Action<TestFitsCards>? extra = null)
    {
        TestFitsCards header = new TestFitsCards().Add("SIMPLE", true).Add("BITPIX", image.HoldsCounts ? 16 : -32)
            .Add("NAXIS", 2).Add("NAXIS1", image.Width).Add("NAXIS2", image.Height);
        if (image.HoldsCounts)
        {
            header.Add("BSCALE", 1).Add("BZERO", 32768);
        }

        extra?.Invoke(header);
        stream.Write(header.ToBytes());
        long written = 0;
        ushort[] words = new ushort[image.Width];
        uint[] longs = new uint[image.Width];
        for (int y = 0; y < image.Height; y++)
        {
            Span<byte> row;
            if (image.HoldsCounts)
            {
                image.CountsRow(y).CopyTo(words);
                for (int x = 0; x < words.Length; x++)
                {
                    words[x] ^= 0x8000;
                }

                BinaryPrimitives.ReverseEndianness(words, words);
                row = MemoryMarshal.AsBytes(words.AsSpan());
            }
            else
            {
                MemoryMarshal.Cast<float, uint>(image.ValuesRow(y)).CopyTo(longs);
                BinaryPrimitives.ReverseEndianness(longs, longs);
                row = MemoryMarshal.AsBytes(longs.AsSpan());
            }
            stream.Write(row);
            written += row.Length;
        }
        int tail = (int)(written % FitsHeader.BlockBytes);
        if (tail > 0)
        {
            stream.Write(new byte[FitsHeader.BlockBytes - tail]);
        }
    }
}

/// <summary>Cards of a header, in order.</summary>
public sealed class TestFitsCards
{
    private readonly List<string> _images = [];

    /// <summary>Adds a logical card.</summary>
    public TestFitsCards Add(string key, bool value) => AddCard(key, (value ? "T" : "F").PadLeft(20));

    /// <summary>Adds a number, written so that reading it back gives the same bits.</summary>
    public TestFitsCards Add(string key, double value)
    {
        string text = value.ToString("R", CultureInfo.InvariantCulture);
        return AddCard(key, text.PadLeft(20));
    }

    /// <summary>Adds a string card; up to 60 printable ASCII characters.</summary>
    public TestFitsCards Add(string key, string value)
    {
        if (value.Length > 60 || value.AsSpan().ContainsAnyExceptInRange(' ', '~'))
        {
            throw new ArgumentException($"FITS keyword {key} takes up to 60 printable ASCII characters.",
                nameof(value));
        }

        return AddCard(key, "'" + value.Replace("'", "''", StringComparison.Ordinal).PadRight(8) + "'");
    }

    /// <summary>The header as whole blocks, END card and padding included.</summary>
    public byte[] ToBytes()
    {
        var text = new StringBuilder();
        foreach (string image in _images)
        {
            text.Append(image.PadRight(80));
        }

        text.Append("END".PadRight(80));
        int bytes = (text.Length + FitsHeader.BlockBytes - 1) / FitsHeader.BlockBytes * FitsHeader.BlockBytes;
        return Encoding.ASCII.GetBytes(text.ToString().PadRight(bytes));
    }

    private TestFitsCards AddCard(string key, string image)
    {
        if (key.Length is 0 or > 8 || key.Any(c => c is not ((>= 'A' and <= 'Z') or (>= '0' and <= '9') or '-' or '_')))
        {
            throw new ArgumentException($"'{key}' is not a FITS keyword: 1 to 8 of A-Z, 0-9, hyphen, underscore.",
                nameof(key));
        }

        string card = $"{key,-8}= {image}";
        if (card.Length > 80)
        {
            throw new ArgumentException($"FITS keyword {key}: the value does not fit a card.", nameof(image));
        }

        _images.Add(card);
        return this;
    }
}
