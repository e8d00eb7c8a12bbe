// The parameters of a unit: numbers, words, strings, blocks. IEEE 488.2, 7.7; SCPI-1999 volume 1, chapter 7.

namespace Hourhinge.Firmware.Scpi;

/// <content>Reads parameters.</content>
public sealed partial class ScpiMessage
{
    /// <summary>
    /// A number as value × 10^scale, checked against a range in the same units: decimal with or without exponent and
    /// suffix, #H, #Q or #B, MINimum, MAXimum or DEFault; ON and OFF where the range is 0 to 1.
    /// </summary>
    public bool TryParseNumber(NumberRange range, out long value)
    {
        value = 0;
        if (!BeginParameter(range.Name))
        {
            return false;
        }

        int start = _at;
        while (_at < _end && _bytes[_at] != ',' && _bytes[_at] != ';')
        {
            _at++;
        }

        int end = _at;
        while (end > start && IsBlank(_bytes[end - 1]))
        {
            end--;
        }

        if (IsLetter(_bytes[start]))
        {
            return range.TryWord(_bytes, start, end, out value) || Fail(ScpiErrors.DataType, range.Name);
        }

        int error = NumericText.Parse(_bytes, start, end, range, out value);
        if (error != 0)
        {
            return Fail(error, error == ScpiErrors.OutOfRange ? range.Text() : range.Name);
        }

        return (value >= range.Min && value <= range.Max) || Fail(ScpiErrors.OutOfRange, range.Text());
    }

    /// <summary>MINimum, MAXimum or DEFault behind a query: the limit instead of the value.</summary>
    public bool TryParseLimit(NumberRange range, out long value)
    {
        value = 0;
        return TryParseText(range.Name, out string word)
            && (range.TryLimit(word, out value) || Fail(ScpiErrors.ParameterNotAllowed, word));
    }

    /// <summary>A word (character data) in capitals, or a quoted string without its quotes, in which a doubled quote
    /// stands for one.</summary>
    public bool TryParseText(string name, out string text)
    {
        text = null;
        if (!BeginParameter(name))
        {
            return false;
        }

        byte quote = _bytes[_at];
        bool quoted = quote == '"' || quote == '\'';
        int start = quoted ? _at + 1 : _at;
        char[] chars = new char[_end - start];
        int count = 0;
        for (_at = start; _at < _end; _at++)
        {
            byte b = _bytes[_at];
            if (quoted && b == quote)
            {
                if (_at + 1 == _end || _bytes[_at + 1] != quote)
                {
                    break;
                }

                _at++;
            }
            else if (!quoted && (IsBlank(b) || b == ',' || b == ';'))
            {
                break;
            }

            chars[count++] = (char)(quoted ? b : Upper(b));
        }

        if (quoted && _at == _end)
        {
            return Fail(ScpiErrors.InvalidString, name);
        }

        _at += quoted ? 1 : 0;
        text = new string(chars, 0, count);
        return true;
    }

    /// <summary>A definite-length block: where its bytes are in <see cref="Bytes"/>.</summary>
    public bool TryParseBlock(string name, out int start, out int count)
    {
        start = 0;
        count = 0;
        if (!BeginParameter(name))
        {
            return false;
        }

        if (_bytes[_at] != '#')
        {
            return Fail(ScpiErrors.DataType, name + " must be a definite-length block");
        }

        int digits = _at + 1 < _end ? _bytes[_at + 1] - '0' : 0;
        if (digits < 1 || digits > 9 || _at + 2 + digits > _end)
        {
            return Fail(ScpiErrors.InvalidBlock, name);
        }

        for (int i = 0; i < digits; i++)
        {
            int digit = _bytes[_at + 2 + i] - '0';
            if (digit < 0 || digit > 9)
            {
                return Fail(ScpiErrors.InvalidBlock, name);
            }

            count = (count * 10) + digit;
        }

        start = _at + 2 + digits;
        if (count > _end - start)
        {
            return Fail(ScpiErrors.InvalidBlock, name);
        }

        _at = start + count;
        return true;
    }

    private static bool IsLetter(byte b) => Upper(b) >= 'A' && Upper(b) <= 'Z';

    private bool BeginParameter(string name)
    {
        SkipBlanks();
        if (!_firstParameter && !AtEndOfUnit())
        {
            if (_bytes[_at] != ',')
            {
                return Fail(ScpiErrors.InvalidSeparator, name);
            }

            _at++;
        }

        _firstParameter = false;
        return !AtEndOfUnit() || Fail(ScpiErrors.MissingParameter, name);
    }
}
