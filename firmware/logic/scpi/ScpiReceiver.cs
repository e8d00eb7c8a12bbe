// Collects bytes from the peer until a program message is complete: at a newline that is not inside a definite-length
// block.

namespace Hourhinge.Firmware.Scpi;

/// <summary>Add bytes; when <see cref="Add"/> returns true, a complete message is in <see cref="Bytes"/>.</summary>
public sealed class ScpiReceiver
{
    /// <summary>Longest message: one block of 4096 bytes and its header.</summary>
    public const int Capacity = 4096 + 256;

    /// <summary>After this silence inside a block the peer counts as disconnected.</summary>
    public const long SilenceUs = 3000000;

    private const int Plain = 0, AfterHash = 1, InLength = 2, InBlock = 3, Discarding = 4, DiscardingBlock = 5;

    private readonly ScpiErrors _errors;
    private int _state;
    private int _lengthDigits;
    private int _blockLeft;
    private byte _quote;
    private long _lastByteUs;

    /// <summary>Errors go to this queue.</summary>
    public ScpiReceiver(ScpiErrors errors)
    {
        _errors = errors;
        Bytes = new byte[Capacity];
    }

    /// <summary>The message, without its newline.</summary>
    public byte[] Bytes { get; }

    /// <summary>How many bytes it has.</summary>
    public int Count { get; private set; }

    /// <summary>Starts a new message.</summary>
    public void Reset()
    {
        Count = 0;
        _state = Plain;
        _quote = 0;
    }

    /// <summary>Drops a block whose sender has stayed silent, with an error; to be called regularly.</summary>
    public void CheckSilence(long nowUs)
    {
        if (_state != Plain && _state != Discarding && nowUs - _lastByteUs > SilenceUs)
        {
            _errors.Add(ScpiErrors.InvalidBlock, "the sender fell silent in mid-block; nothing was changed");
            Reset();
        }
    }

    /// <summary>Adds a byte; true when it completed a message (read it, then <see cref="Reset"/>).</summary>
    public bool Add(byte b, long nowUs)
    {
        _lastByteUs = nowUs;
        if (_state == Discarding)
        {
            if (b == '\n')
            {
                Reset();
            }

            return false;
        }

        // The bytes of a block that was too large are not commands either.
        if (_state == DiscardingBlock)
        {
            _blockLeft--;
            _state = _blockLeft == 0 ? Discarding : DiscardingBlock;
            return false;
        }

        if (_state != InBlock && b == '\n')
        {
            return true;
        }

        if (Count == Capacity)
        {
            _errors.Add(ScpiErrors.InputOverrun, null);
            _state = Discarding;
            return false;
        }

        Bytes[Count++] = b;
        switch (_state)
        {
            case Plain:
                AddPlain(b);
                break;
            case AfterHash:
                _state = b >= '1' && b <= '9' ? InLength : Plain;
                _lengthDigits = b - '0';
                _blockLeft = 0;
                break;
            case InLength:
                AddLengthDigit(b);
                break;
            default:
                _blockLeft--;
                _state = _blockLeft == 0 ? Plain : InBlock;
                break;
        }

        return false;
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

    private void AddLengthDigit(byte b)
    {
        if (b < '0' || b > '9')
        {
            _errors.Add(ScpiErrors.InvalidBlock, null);
            _state = Discarding;
            return;
        }

        _blockLeft = (_blockLeft * 10) + b - '0';
        _lengthDigits--;
        if (_lengthDigits > 0)
        {
            return;
        }

        _state = _blockLeft == 0 ? Plain : InBlock;
        if (_blockLeft > Capacity - Count)
        {
            _errors.Add(ScpiErrors.TooMuchData, "a block may have at most 4096 bytes");
            _state = DiscardingBlock;
        }
    }
}
