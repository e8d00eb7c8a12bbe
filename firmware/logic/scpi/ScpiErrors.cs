// The error queue and the numbers of SCPI-1999 (volume 2, chapter 21.8) that this controller uses.

namespace Hourhinge.Firmware.Scpi;

/// <summary>First in, first out; when it is full the newest entry becomes -350 and later errors are lost.</summary>
public sealed class ScpiErrors
{
    public const int InvalidCharacter = -101, Syntax = -102, InvalidSeparator = -103, DataType = -104,
        ParameterNotAllowed = -108, MissingParameter = -109, HeaderSeparator = -111, MnemonicTooLong = -112,
        UndefinedHeader = -113, InvalidNumber = -121, InvalidSuffix = -131,
        SuffixNotAllowed = -138, InvalidString = -151,
        InvalidBlock = -161, SettingsConflict = -221, OutOfRange = -222, TooMuchData = -223, IllegalValue = -224,
        HardwareMissing = -241, StorageFault = -320, QueueOverflow = -350, InputOverrun = -363,
        AfterIndefinite = -440;

    private const int Depth = 16;

    // SCPI-1999 volume 2, 21.8.2: text and detail together have at most 255 characters. Longer ones, of what a peer
    // has sent, would also fill the heap.
    private const int MaxTextLength = 255;
    private readonly int[] _numbers = new int[Depth];
    private readonly string[] _details = new string[Depth];
    private int _first;
    private int _events;

    /// <summary>Entries waiting.</summary>
    public int Count { get; private set; }

    /// <summary>Adds an error; <paramref name="detail"/> is appended to the standard's text, or is null.</summary>
    public void Add(int number, string detail)
    {
        _events |= EventBit(number);
        if (Count == Depth)
        {
            _events |= EventBit(QueueOverflow);
            int last = (_first + Depth - 1) % Depth;
            _numbers[last] = QueueOverflow;
            _details[last] = null;
            return;
        }

        int at = (_first + Count) % Depth;
        int room = MaxTextLength - Text(number).Length - 1;
        _numbers[at] = number;
        _details[at] = detail == null || detail.Length <= room ? detail : detail.Substring(0, room);
        Count++;
    }

    /// <summary>Returns and clears the standard event bits of every error added since the last call, including those
    /// that were lost.</summary>
    public int DequeueEvents()
    {
        int events = _events;
        _events = 0;
        return events;
    }

    /// <summary>Removes everything.</summary>
    public void Clear()
    {
        Count = 0;
        _events = 0;
    }

    /// <summary>Removes and returns the oldest error as the standard writes it; 0,"No error" when there is
    /// none.</summary>
    public string Dequeue()
    {
        if (Count == 0)
        {
            return "0,\"No error\"";
        }

        int number = _numbers[_first];
        string detail = _details[_first];
        _first = (_first + 1) % Depth;
        Count--;
        return number + ",\"" + Text(number) + (detail == null ? string.Empty : ";" + Quotable(detail)) + "\"";
    }

    /// <summary>The bit of the standard event status register for an error number (IEEE 488.2, 11.5.1.1).</summary>
    public static int EventBit(int number) =>
        number <= -400 ? 4 : number <= -300 ? 8 : number <= -200 ? 16 : 32;

    private static string Text(int number)
    {
        switch (number)
        {
            case InvalidCharacter: return "Invalid character";
            case Syntax: return "Syntax error";
            case InvalidSeparator: return "Invalid separator";
            case DataType: return "Data type error";
            case ParameterNotAllowed: return "Parameter not allowed";
            case MissingParameter: return "Missing parameter";
            case HeaderSeparator: return "Header separator error";
            case MnemonicTooLong: return "Program mnemonic too long";
            case UndefinedHeader: return "Undefined header";
            case InvalidNumber: return "Invalid character in number";
            case InvalidSuffix: return "Invalid suffix";
            case SuffixNotAllowed: return "Suffix not allowed";
            case InvalidString: return "Invalid string data";
            case InvalidBlock: return "Invalid block data";
            case SettingsConflict: return "Settings conflict";
            case OutOfRange: return "Data out of range";
            case TooMuchData: return "Too much data";
            case IllegalValue: return "Illegal parameter value";
            case HardwareMissing: return "Hardware missing";
            case StorageFault: return "Storage fault";
            case QueueOverflow: return "Queue overflow";
            case InputOverrun: return "Input buffer overrun";
            case AfterIndefinite: return "Query UNTERMINATED after indefinite response";
            default: return "Device-specific error";
        }
    }

    /// <summary>The text with quotation marks and control characters replaced: inside, they would end the string or
    /// the line early.</summary>
    public static string Quotable(string text)
    {
        char[] safe = text.ToCharArray();
        for (int i = 0; i < safe.Length; i++)
        {
            safe[i] = safe[i] == '"' ? '\'' : safe[i] < ' ' ? ' ' : safe[i];
        }

        return new string(safe);
    }
}
