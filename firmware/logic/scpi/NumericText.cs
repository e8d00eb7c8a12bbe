// A numeric parameter in all the forms of IEEE 488.2, 7.7.2 to 7.7.4: decimal with exponent and suffix, and the
// non-decimal forms #H, #Q and #B.

namespace Hourhinge.Firmware.Scpi;

/// <summary>Numbers with units as scaled integers, exactly.</summary>
public static class NumericText
{
    /// <summary>Parses text[start..end); 0, or a number of <see cref="ScpiErrors"/>.</summary>
    public static int Parse(byte[] text, int start, int end, NumberRange range, out long value)
    {
        value = 0;
        if (text[start] == '#')
        {
            return ParseRadix(text, start + 1, end, range, out value);
        }

        int numberEnd = NumberEnd(text, start, end);
        int suffix = numberEnd;
        while (suffix < end && text[suffix] <= ' ')
        {
            suffix++;
        }

        int exponent = 0;
        if (suffix < end)
        {
            byte first = text[suffix];
            if (numberEnd == start || !((first >= 'A' && first <= 'Z') || (first >= 'a' && first <= 'z')))
            {
                return first == '"' || first == '\'' ? ScpiErrors.DataType
                    : suffix > numberEnd ? ScpiErrors.InvalidSeparator : ScpiErrors.InvalidNumber;
            }

            if (range.Suffix == null)
            {
                return ScpiErrors.SuffixNotAllowed;
            }

            if (!TryMultiplier(text, suffix, end, range.Suffix, out exponent))
            {
                return ScpiErrors.InvalidSuffix;
            }

            exponent -= range.UnitExponent;
        }

        int found = DecimalText.Parse(text, start, numberEnd, range.Scale + exponent, out value);
        return found == DecimalText.Good ? 0
            : found == DecimalText.TooLarge ? ScpiErrors.OutOfRange : ScpiErrors.InvalidNumber;
    }

    // End of sign, digits, point and exponent. White space may stand around the E (IEEE 488.2, 7.7.2.2).
    private static int NumberEnd(byte[] text, int start, int end)
    {
        int at = start;
        if (at < end && (text[at] == '+' || text[at] == '-'))
        {
            at++;
        }

        while (at < end && (IsDigit(text[at]) || text[at] == '.'))
        {
            at++;
        }

        int e = at;
        while (e < end && text[e] <= ' ')
        {
            e++;
        }

        if (e == end || (text[e] != 'E' && text[e] != 'e'))
        {
            return at;
        }

        e++;
        while (e < end && text[e] <= ' ')
        {
            e++;
        }

        if (e < end && (text[e] == '+' || text[e] == '-'))
        {
            e++;
        }

        if (e == end || !IsDigit(text[e]))
        {
            return at;
        }

        while (e < end && IsDigit(text[e]))
        {
            e++;
        }

        return e;
    }

    // The unit alone, or with one of the multipliers of IEEE 488.2 table 7-2 that are of use here.
    private static bool TryMultiplier(byte[] text, int start, int end, string unit, out int exponent)
    {
        exponent = 0;
        int front = end - start - unit.Length;
        if (front < 0 || front > 2)
        {
            return false;
        }

        for (int i = 0; i < unit.Length; i++)
        {
            if ((text[start + front + i] & 0xDF) != unit[i])
            {
                return false;
            }
        }

        if (front == 0)
        {
            return true;
        }

        int first = text[start] & 0xDF;
        if (front == 2)
        {
            exponent = 6;
            return first == 'M' && (text[start + 1] & 0xDF) == 'A';
        }

        exponent = first == 'K' ? 3 : first == 'M' ? -3 : first == 'U' ? -6 : first == 'N' ? -9 : 0;
        return exponent != 0;
    }

    private static int ParseRadix(byte[] text, int at, int end, NumberRange range, out long value)
    {
        value = 0;
        int letter = at < end ? text[at] & 0xDF : 0;
        int bits = letter == 'H' ? 4 : letter == 'Q' ? 3 : letter == 'B' ? 1 : 0;
        if (bits == 0)
        {
            return ScpiErrors.DataType;
        }

        if (at + 1 == end)
        {
            return ScpiErrors.InvalidNumber;
        }

        for (at++; at < end; at++)
        {
            int b = text[at];
            int digit = b >= '0' && b <= '9' ? b - '0' : (b & 0xDF) >= 'A' && (b & 0xDF) <= 'F' ? (b & 0xDF) - 55 : 99;
            if (digit >= 1 << bits)
            {
                return ScpiErrors.InvalidNumber;
            }

            if (value >= 1L << 44)
            {
                return ScpiErrors.OutOfRange;
            }

            value = (value << bits) + digit;
        }

        for (int i = 0; i < range.Scale; i++)
        {
            if (value > 900000000000000000)
            {
                return ScpiErrors.OutOfRange;
            }

            value *= 10;
        }

        return 0;
    }

    private static bool IsDigit(byte b) => b >= '0' && b <= '9';
}
