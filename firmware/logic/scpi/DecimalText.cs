// Decimal text to and from scaled integers, exactly. No floating point: the small runtime's conversion of doubles is
// not exact.

namespace Hourhinge.Firmware.Scpi;

/// <summary>IEEE 488.2 decimal numbers (NRf) as integers in units of 10^-scale.</summary>
public static class DecimalText
{
    /// <summary>Results of <see cref="Parse"/>.</summary>
    public const int Good = 0, NotANumber = 1, TooLarge = 2;

    /// <summary>
    /// Reads e.g. "-12.5" or "1.25E1" into value × 10^scale, rounding halves away from zero where the text has more
    /// digits than the scale. Values beyond ±9e15 after scaling are <see cref="TooLarge"/>.
    /// </summary>
    public static int Parse(byte[] text, int start, int end, int scale, out long value)
    {
        value = 0;
        int at = start;
        bool negative = at < end && text[at] == '-';
        if (at < end && (text[at] == '-' || text[at] == '+'))
        {
            at++;
        }

        long digits = 0;
        int seen = 0;
        int exponent = scale;
        bool point = false;
        for (; at < end; at++)
        {
            byte b = text[at];
            if (b == '.' && !point)
            {
                point = true;
                continue;
            }

            if (b < '0' || b > '9')
            {
                break;
            }

            seen++;
            if (digits < 100000000000000000)
            {
                digits = (digits * 10) + b - '0';
                exponent -= point ? 1 : 0;
            }
            else
            {
                // Seventeen digits are kept; further ones only count for the exponent.
                exponent += point ? 0 : 1;
            }
        }

        if (seen == 0 || !ParseExponent(text, ref at, end, ref exponent) || at != end)
        {
            return NotANumber;
        }

        if (!Shift(ref digits, exponent) || digits > 9000000000000000)
        {
            return TooLarge;
        }

        value = negative ? -digits : digits;
        return Good;
    }

    /// <summary>Writes value / 10^scale, e.g. 5012 with scale 3 as "5.012".</summary>
    public static string Format(long value, int scale)
    {
        string sign = value < 0 ? "-" : string.Empty;
        string digits = (value < 0 ? -value : value).ToString();
        while (digits.Length <= scale)
        {
            digits = "0" + digits;
        }

        int whole = digits.Length - scale;
        return scale == 0 ? sign + digits : sign + digits.Substring(0, whole) + "." + digits.Substring(whole);
    }

    private static bool ParseExponent(byte[] text, ref int at, int end, ref int exponent)
    {
        if (at == end)
        {
            return true;
        }

        SkipBlanks(text, ref at, end);
        if (at == end || (text[at] != 'e' && text[at] != 'E'))
        {
            return false;
        }

        at++;
        SkipBlanks(text, ref at, end);
        bool negative = at < end && text[at] == '-';
        if (at < end && (text[at] == '-' || text[at] == '+'))
        {
            at++;
        }

        int power = 0;
        int first = at;
        for (; at < end && text[at] >= '0' && text[at] <= '9'; at++)
        {
            power = power < 1000 ? (power * 10) + text[at] - '0' : power;
        }

        exponent += negative ? -power : power;
        return at > first;
    }

    // IEEE 488.2, 7.7.2.2: white space may stand before and behind the E.
    private static void SkipBlanks(byte[] text, ref int at, int end)
    {
        while (at < end && text[at] <= ' ')
        {
            at++;
        }
    }

    private static bool Shift(ref long digits, int exponent)
    {
        for (; exponent > 0 && digits != 0; exponent--)
        {
            if (digits > 900000000000000000)
            {
                return false;
            }

            digits *= 10;
        }

        if (exponent >= 0)
        {
            return true;
        }

        for (; exponent < -1 && digits != 0; exponent++)
        {
            digits /= 10;
        }

        digits = digits == 0 ? 0 : (digits + 5) / 10;
        return true;
    }
}
