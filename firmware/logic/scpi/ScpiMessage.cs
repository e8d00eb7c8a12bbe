// Parses a program message: units between semicolons, a header with its path, parameters between commas. IEEE 488.2
// chapter 7 and SCPI-1999 volume 1 chapter 6. It executes nothing.
// Parameters: ScpiParameters.cs.

namespace Hourhinge.Firmware.Scpi;

/// <summary>A cursor over one program message; no allocation, no exceptions, errors to the queue.</summary>
public sealed partial class ScpiMessage
{
    private const int MaxHeader = 80;
    private const int MaxMnemonic = 12;

    private readonly ScpiErrors _errors;
    private readonly byte[] _header = new byte[MaxHeader];
    private readonly byte[] _path = new byte[MaxHeader];
    private byte[] _bytes;
    private int _at;
    private int _end;
    private int _pathCount;
    private int _headerCount;
    private bool _firstParameter;

    /// <summary>Errors go to this queue.</summary>
    public ScpiMessage(ScpiErrors errors)
    {
        _errors = errors;
        _bytes = _header;
    }

    /// <summary>True when the unit's header ended with a question mark.</summary>
    public bool IsQuery { get; private set; }

    /// <summary>True while units are left.</summary>
    public bool HasMore => _at < _end;

    /// <summary>The message's bytes: where a block parameter points to.</summary>
    public byte[] Bytes => _bytes;

    /// <summary>Starts with a message.</summary>
    public void Begin(byte[] bytes, int count)
    {
        _bytes = bytes;
        _at = 0;
        _end = count;
        _pathCount = 0;
        SkipBlanks();
    }

    /// <summary>Skips the rest of the message after an error, as the standard requires.</summary>
    public void Abandon() => _at = _end;

    /// <summary>Reads the next unit's header; false when it is empty or wrong (then the error is queued).</summary>
    public bool NextHeader()
    {
        IsQuery = false;
        _headerCount = 0;
        _firstParameter = true;
        SkipBlanks();
        bool common = _at < _end && _bytes[_at] == '*';
        if (_at < _end && _bytes[_at] == ':')
        {
            _at++;
            _pathCount = 0;
        }
        else if (!common)
        {
            _headerCount = _pathCount;
            System.Array.Copy(_path, 0, _header, 0, _pathCount);
        }

        int start = _headerCount;
        int mnemonic = 0;
        while (_at < _end && IsHeaderByte(_bytes[_at]))
        {
            mnemonic = _bytes[_at] == ':' || _bytes[_at] == '*' ? 0 : mnemonic + 1;
            if (_headerCount == MaxHeader || mnemonic > MaxMnemonic)
            {
                return Fail(ScpiErrors.MnemonicTooLong, null);
            }

            _header[_headerCount++] = Upper(_bytes[_at++]);
        }

        if (_headerCount == start)
        {
            return Fail(_at < _end && _bytes[_at] != ';' ? ScpiErrors.InvalidCharacter : ScpiErrors.Syntax, null);
        }

        if (_at < _end && _bytes[_at] == '?')
        {
            IsQuery = true;
            _at++;
        }

        if (!common)
        {
            for (_pathCount = _headerCount; _pathCount > 0 && _header[_pathCount - 1] != ':'; _pathCount--)
            {
            }

            System.Array.Copy(_header, 0, _path, 0, _pathCount);
        }

        return _at == _end || IsBlank(_bytes[_at]) || _bytes[_at] == ';'
            || Fail(CouldBeginParameter(_bytes[_at]) ? ScpiErrors.HeaderSeparator : ScpiErrors.InvalidCharacter,
                HeaderText());
    }

    /// <summary>
    /// True when the header is this one, written with capitals for the short form and optional nodes in brackets:
    /// ":SYSTem:ERRor[:NEXT]" matches SYST:ERR and SYSTEM:ERROR:NEXT in any case. Nothing between the short form and
    /// the long form matches.
    /// </summary>
    public bool HeaderIs(string pattern)
    {
        // Most patterns differ in the first two characters; this keeps an unknown header cheap.
        int i = pattern[0] == ':' ? 1 : 0;
        if (_headerCount < 2 || _header[0] != pattern[i] || _header[1] != pattern[i + 1])
        {
            return false;
        }

        int at = 0;
        while (i < pattern.Length)
        {
            bool optional = pattern[i] == '[';
            i += optional ? 2 : 0;
            int nodeEnd = i;
            while (nodeEnd < pattern.Length && pattern[nodeEnd] != ':' && pattern[nodeEnd] != '['
                && pattern[nodeEnd] != ']')
            {
                nodeEnd++;
            }

            int given = at;
            while (given < _headerCount && _header[given] != ':')
            {
                given++;
            }

            if (NodeIs(pattern, i, nodeEnd, at, given))
            {
                at = given + 1;
            }
            else if (!optional)
            {
                return false;
            }

            i = nodeEnd;
            while (i < pattern.Length && (pattern[i] == ']' || pattern[i] == ':'))
            {
                i++;
            }
        }

        // One past the colon that would follow: every node of the header has matched.
        return at == _headerCount + 1;
    }

    /// <summary>The header including its path, for error texts.</summary>
    public string HeaderText()
    {
        char[] text = new char[_headerCount];
        for (int i = 0; i < _headerCount; i++)
        {
            text[i] = (char)_header[i];
        }

        return new string(text);
    }

    /// <summary>True, without an error, when the unit has no further parameter.</summary>
    public bool AtEndOfUnit()
    {
        SkipBlanks();
        return _at == _end || _bytes[_at] == ';';
    }

    /// <summary>Closes the unit: anything left is an error.</summary>
    public bool EndUnit()
    {
        if (!AtEndOfUnit())
        {
            return Fail(ScpiErrors.ParameterNotAllowed, HeaderText());
        }

        _at += _at < _end ? 1 : 0;
        SkipBlanks();
        return true;
    }

    private bool NodeIs(string pattern, int from, int to, int given, int givenEnd)
    {
        int count = givenEnd - given;
        // SCPI-1999 volume 1, 6.2.5.2: a mnemonic without a numeric suffix is the one with suffix 1.
        if (count > 1 && _header[givenEnd - 1] == '1' && !(pattern[to - 1] >= '0' && pattern[to - 1] <= '9'))
        {
            count--;
        }

        int shortForm = from;
        while (shortForm < to && !(pattern[shortForm] >= 'a' && pattern[shortForm] <= 'z'))
        {
            shortForm++;
        }

        if (count != to - from && count != shortForm - from)
        {
            return false;
        }

        for (int i = 0; i < count; i++)
        {
            if (Upper((byte)pattern[from + i]) != _header[given + i])
            {
                return false;
            }
        }

        return true;
    }

    private static bool CouldBeginParameter(byte b) =>
        b == '"' || b == '\'' || b == '#' || b == '+' || b == '-' || b == '.' || b == ',' || IsHeaderByte(b);

    private bool Fail(int number, string detail)
    {
        _errors.Add(number, detail);
        Abandon();
        return false;
    }

    private void SkipBlanks()
    {
        while (_at < _end && IsBlank(_bytes[_at]))
        {
            _at++;
        }
    }

    // IEEE 488.2 white space: every control character and the space, except newline.
    private static bool IsBlank(byte b) => b <= 32;

    private static bool IsHeaderByte(byte b) =>
        (b >= 'A' && b <= 'Z') || (b >= 'a' && b <= 'z') || (b >= '0' && b <= '9') || b == ':' || b == '*' || b == '_';

    private static byte Upper(byte b) => b >= 'a' && b <= 'z' ? (byte)(b - 32) : b;
}
