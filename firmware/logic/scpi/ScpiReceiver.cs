// Collects bytes from the peer until a program message is complete: at a newline that is inside neither a block nor a
// string. Messages wait here in their order while an earlier one is executed, so that an ABORt behind them is seen.

namespace Hourhinge.Firmware.Scpi;

/// <summary>
/// Add bytes with <see cref="Add"/>; complete messages are executed from the front of <see cref="Bytes"/> and removed
/// with <see cref="Remove"/>. What a lost peer left unfinished is discarded and never executed. After a block that
/// stalled, the rest of its data may still come: everything but ABORt is ignored until a newline and a pause.
/// </summary>
public sealed class ScpiReceiver
{
    /// <summary>Longest message: one block of 4096 bytes and its header.</summary>
    public const int Capacity = 4096 + 256;

    /// <summary>After this silence inside a block, or in a string that contains a newline, the peer counts as
    /// gone.</summary>
    public const long GapUs = 500000;

    /// <summary>After this silence an unfinished line is discarded.</summary>
    public const long LineSilenceUs = 3000000;

    // A block may take two seconds more than ten times its bytes' time at the line's rate (115200 baud, 86.8 us).
    private const long BlockGraceUs = 2000000;
    private const long BlockByteUs = 868;

    // Bytes and messages that may wait behind the one that is executed. The reserve is for an ABORt.
    private const int Room = Capacity + 512;
    private const int Reserve = 16;
    private const int MaxMessages = 32;

    // ECMA-48, 8.3.6: the data before a CAN character is in error and shall be ignored. Here it is the device clear of
    // IEEE 488.2, 5.8, which a serial line lacks.
    private const byte Cancel = 24;

    private const int Plain = 0, AfterHash = 1, InLength = 2, InBlock = 3, Skipping = 4, Ignoring = 5;

    private readonly ScpiErrors _errors;
    private readonly int[] _ends = new int[MaxMessages];
    private int _messages;
    private int _abort;
    private int _start;
    private int _count;
    private int _afterGap;
    private int _state;
    private int _lengthDigits;
    private int _blockLeft;
    private byte _quote;
    private bool _newlineInString;
    private bool _dropped;
    private bool _endsWithNewline;
    private long _lastByteUs;
    private long _blockDeadlineUs;

    /// <summary>Errors go to this queue.</summary>
    public ScpiReceiver(ScpiErrors errors)
    {
        _errors = errors;
        Bytes = new byte[Room];
        Clear();
    }

    /// <summary>The first message begins at index 0.</summary>
    public byte[] Bytes { get; }

    /// <summary>True when a complete message waits or is being executed.</summary>
    public bool HasMessage => _messages > 0;

    /// <summary>Length of the first message, without its newline.</summary>
    public int MessageBytes => _ends[0];

    /// <summary>True while a message that begins with ABORt waits behind the first one.</summary>
    public bool AbortWaits => _abort > 0;

    /// <summary>True while a message that begins with ABORt waits, the first one included.</summary>
    public bool HoldsAbort => _abort >= 0;

    /// <summary>Removes everything: a new peer has connected, or asked for it.</summary>
    public void Clear()
    {
        _messages = 0;
        _abort = -1;
        _start = 0;
        Discard();
    }

    /// <summary>Removes the first message after it was executed.</summary>
    public void Remove()
    {
        int end = _ends[0];
        System.Array.Copy(Bytes, end, Bytes, 0, _count - end);
        _count -= end;
        _start -= end;
        _afterGap -= end;
        _messages--;
        _abort--;
        for (int i = 0; i < _messages; i++)
        {
            _ends[i] = _ends[i + 1] - end;
        }
    }

    /// <summary>Discards what a silent peer left unfinished; to be called in every pass.</summary>
    public void CheckSilence(long nowUs)
    {
        long silence = nowUs - _lastByteUs;
        if ((_state == Plain || _state == AfterHash) && !_newlineInString && !_dropped)
        {
            if (_count == _start || silence <= GapUs)
            {
                return;
            }

            _afterGap = _count;
            if (silence > LineSilenceUs)
            {
                _errors.Add(ScpiErrors.Syntax, "a line without its newline was discarded after 3 s");
                Discard();
            }
        }
        else if (silence > GapUs)
        {
            ReportGap();
            bool ends = _endsWithNewline;
            Discard();
            _state = ends ? Plain : Ignoring;
        }
        else if (_state == InBlock && nowUs > _blockDeadlineUs)
        {
            _errors.Add(ScpiErrors.InvalidBlock, "the block came too slowly; nothing was changed");
            Skip();
        }
    }

    /// <summary>Adds a byte. True when the peer asks to forget everything before it; <see cref="Clear"/>
    /// obeys.</summary>
    public bool Add(byte b, long nowUs)
    {
        // The bytes of one pass have one time.
        if (nowUs != _lastByteUs)
        {
            CheckSilence(nowUs);
            _lastByteUs = nowUs;
        }

        if (_state >= Skipping)
        {
            AddIgnored(b);
            return false;
        }

        if (b == Cancel && _state != InBlock)
        {
            Discard();
            return true;
        }

        if (b == '\n' && (_state == Plain || _state == AfterHash))
        {
            if (_quote == 0 || IsAbort(_afterGap))
            {
                EndMessage();
                return false;
            }

            _newlineInString = true;
        }

        Store(b);
        switch (_state)
        {
            case Plain:
                AddPlain(b);
                break;
            case AfterHash:
                AddAfterHash(b);
                break;
            case InLength:
                AddLengthDigit(b, nowUs);
                break;
            default:
                _blockLeft--;
                _state = _blockLeft == 0 ? Plain : InBlock;
                break;
        }

        return false;
    }

    // Perhaps the rest of a block that stalled: data, in which only an ABORt is obeyed.
    private void AddIgnored(byte b)
    {
        if (_state == Ignoring && b != '\n')
        {
            Store(b);
        }
        else if (_state == Ignoring)
        {
            if (IsAbort(_start))
            {
                EndMessage();
            }

            Discard();
            _state = Ignoring;
        }

        _endsWithNewline = b == '\n';
    }

    private void Store(byte b)
    {
        int length = _count - _start;
        bool full = length == Capacity || _count == Room || (_count >= Room - Reserve && length >= Reserve);
        if (full && !_dropped)
        {
            _errors.Add(ScpiErrors.InputOverrun, null);
            _dropped = true;
            _count = _start;
        }

        if (!_dropped)
        {
            Bytes[_count++] = b;
        }
    }

    private void EndMessage()
    {
        // An ABORt after a pause is executed whatever an earlier peer had left before it.
        if (_afterGap > _start && IsAbort(_afterGap))
        {
            System.Array.Copy(Bytes, _afterGap, Bytes, _start, _count - _afterGap);
            _count -= _afterGap - _start;
        }

        bool abort = IsAbort(_start);
        bool blank = true;
        for (int i = _start; i < _count && blank; i++)
        {
            blank = Bytes[i] <= ' ';
        }

        if (!_dropped && !blank && _messages == MaxMessages)
        {
            _errors.Add(ScpiErrors.InputOverrun, null);
            _abort = abort ? MaxMessages - 1 : _abort;
        }
        else if (!_dropped && !blank)
        {
            _abort = abort ? _messages : _abort;
            _ends[_messages++] = _count;
            _start = _count;
        }

        Discard();
    }

    private void Discard()
    {
        _count = _start;
        _afterGap = _start;
        _state = Plain;
        _quote = 0;
        _newlineInString = false;
        _dropped = false;
        _endsWithNewline = false;
    }

    // Until the sender pauses: nothing that follows can be told from the rest of the damaged message.
    private void Skip()
    {
        Discard();
        _state = Skipping;
    }

    private void ReportGap()
    {
        if (_newlineInString && !_dropped)
        {
            _errors.Add(ScpiErrors.InvalidString, "no closing quote");
        }
        else if (_state != Skipping && _state != Ignoring && !_dropped)
        {
            _errors.Add(ScpiErrors.InvalidBlock,
                "the sender fell silent in mid-block; nothing was changed, and what follows without a pause is "
                + "ignored");
        }
    }

    private void AddPlain(byte b)
    {
        if (_quote != 0)
        {
            _quote = b == _quote ? (byte)0 : _quote;
        }
        else if (b == '"' || b == '\'')
        {
            _quote = b;
        }
        else if (b == '#')
        {
            _state = AfterHash;
        }
    }

    private void AddAfterHash(byte b)
    {
        _state = Plain;
        if (b >= '1' && b <= '9')
        {
            _state = InLength;
            _lengthDigits = b - '0';
            _blockLeft = 0;
        }
        else if (b == '0')
        {
            _errors.Add(ScpiErrors.InvalidBlock, "#0 has no end on a serial line: give the length");
            Skip();
        }
        else
        {
            AddPlain(b);
        }
    }

    private void AddLengthDigit(byte b, long nowUs)
    {
        if (b < '0' || b > '9')
        {
            _errors.Add(ScpiErrors.InvalidBlock, null);
            Skip();
            return;
        }

        _blockLeft = (_blockLeft * 10) + b - '0';
        _lengthDigits--;
        if (_lengthDigits > 0)
        {
            return;
        }

        _state = _blockLeft == 0 ? Plain : InBlock;
        _blockDeadlineUs = nowUs + BlockGraceUs + (BlockByteUs * (_blockLeft < Capacity ? _blockLeft : Capacity));
        if (_blockLeft > Capacity - (_count - _start) && !_dropped)
        {
            _errors.Add(ScpiErrors.TooMuchData, "a block may have at most 4096 bytes");
            _dropped = true;
            _count = _start;
        }
    }

    // True when a message from this index on begins with ABORt.
    private bool IsAbort(int at)
    {
        while (at < _count && (Bytes[at] <= ' ' || Bytes[at] == ':'))
        {
            at++;
        }

        const string Word = "ABORT";
        int matched = 0;
        while (matched < Word.Length && at < _count && (Bytes[at] & 0xDF) == Word[matched])
        {
            at++;
            matched++;
        }

        // The numeric suffix 1 that any mnemonic may carry.
        at += matched >= Word.Length - 1 && at < _count && Bytes[at] == '1' ? 1 : 0;
        return matched >= Word.Length - 1 && (at == _count || Bytes[at] <= ' ' || Bytes[at] == ';');
    }
}
