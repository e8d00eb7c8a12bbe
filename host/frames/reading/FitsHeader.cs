// A FITS header: 80-character cards in 2880-byte blocks (FITS Standard 4.0, sections 3.3 and 4).
// Here: parsing of cards. Not here: pixels (FitsReader).
using System.Globalization;
using System.Text;

namespace Hourhinge.Frames.Reading;

/// <summary>The keyword cards of a primary header, in order.</summary>
public sealed class FitsHeader
{
    /// <summary>FITS files come in blocks of this many bytes (FITS 4.0, section 3.1).</summary>
    public const int BlockBytes = 2880;

    private const int CardBytes = 80;
    private const int MaxBlocks = 1000;
    private readonly List<(string Key, string Value)> _cards = new();

    /// <summary>Keywords and values as text: strings without quotes, logicals as T or F.</summary>
    public IReadOnlyList<(string Key, string Value)> Cards => _cards;

    /// <summary>Reads a primary header up to and with its END card.</summary>
    /// <exception cref="FrameReadException">Not a FITS header, or cut short.</exception>
    public static FitsHeader Read(Stream stream)
    {
        var header = new FitsHeader();
        byte[] block = new byte[BlockBytes];
        for (int n = 0; n < MaxBlocks; n++)
        {
            if (stream.ReadAtLeast(block, BlockBytes, throwOnEndOfStream: false) < BlockBytes)
            {
                throw new FrameReadException("truncated: the FITS header ends before its END card.");
            }

            for (int at = 0; at < BlockBytes; at += CardBytes)
            {
                Span<byte> bytes = block.AsSpan(at, CardBytes);
                if (bytes.ContainsAnyExceptInRange((byte)0x20, (byte)0x7e))
                {
                    throw new FrameReadException(
                        $"FITS header card {header._cards.Count + 1} holds a byte outside plain ASCII.");
                }

                string card = Encoding.ASCII.GetString(bytes);
                string key = card[..8].TrimEnd();
                if (n == 0 && at == 0 && (key != "SIMPLE" || card[8..10] != "= "))
                {
                    throw new FrameReadException("the FITS header does not begin with SIMPLE.");
                }

                if (key == "END")
                {
                    return header;
                }

                if (card[8..10] == "= ")
                {
                    header._cards.Add((key, ValueOf(key, card[10..])));
                }
            }
        }
        throw new FrameReadException($"the FITS header has no END card in {MaxBlocks} blocks.");
    }

    /// <summary>The value's text, or null where the keyword is absent or has no value.</summary>
    public string? Text(string key)
    {
        foreach ((string? name, string? value) in _cards)
        {
            if (name == key && value.Length > 0)
            {
                return value;
            }
        }
        return null;
    }

    /// <summary>A number, or null where absent.</summary>
    /// <exception cref="FrameReadException">Present and not a finite number.</exception>
    public double? Number(string key)
    {
        if (Text(key) is not { } text)
        {
            return null;
        }
        // FITS 4.0, 4.2.4: the exponent letter may be D.
        return double.TryParse(text.Replace('D', 'E'), NumberStyles.Float, CultureInfo.InvariantCulture,
            out double value)
            && double.IsFinite(value)
            ? value
            : throw new FrameReadException($"FITS keyword {key} is '{text}', which is not a number.");
    }

    /// <summary>A whole number within a range.</summary>
    /// <exception cref="FrameReadException">Absent, not whole, or out of range.</exception>
    public int IntegerValue(string key, int least, int most)
    {
        string text = Text(key) ?? throw new FrameReadException($"FITS keyword {key} is missing.");
        return int.TryParse(text, NumberStyles.AllowLeadingSign, CultureInfo.InvariantCulture, out int value)
            && value >= least && value <= most
            ? value
            : throw new FrameReadException($"FITS keyword {key} is '{text}'; {least} to {most} can be read here.");
    }

    private static string ValueOf(string key, string field)
    {
        string trimmed = field.TrimStart();
        if (!trimmed.StartsWith('\''))
        {
            return trimmed.Split('/')[0].Trim();
        }

        var text = new StringBuilder();
        for (int i = 1; i < trimmed.Length; i++)
        {
            if (trimmed[i] != '\'')
            {
                text.Append(trimmed[i]);
            }
            else if (i + 1 < trimmed.Length && trimmed[i + 1] == '\'')
            {
                text.Append(trimmed[i++]);
            }
            else
            {
                return text.ToString().TrimEnd();
            }
        }
        throw new FrameReadException($"FITS keyword {key} has a string without its closing quote.");
    }
}
