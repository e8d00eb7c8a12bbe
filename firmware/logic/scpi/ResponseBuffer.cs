// Answers that wait for the peer to read them.

using Hourhinge.Firmware.Hardware;

namespace Hourhinge.Firmware.Scpi;

/// <summary>A ring of bytes toward the peer. An answer that does not fit is dropped completely and
/// reported.</summary>
public sealed class ResponseBuffer
{
    /// <summary>Room for the largest block (4096 bytes), its prefix, and some short answers.</summary>
    public const int Capacity = 8192;

    private readonly byte[] _ring = new byte[Capacity];
    private int _first;

    /// <summary>Bytes waiting.</summary>
    public int Count { get; private set; }

    /// <summary>Bytes that still fit.</summary>
    public int Free => Capacity - Count;

    /// <summary>Removes everything.</summary>
    public void Clear() => Count = 0;

    /// <summary>Adds one byte; the caller has checked <see cref="Free"/>.</summary>
    public void Add(byte b)
    {
        _ring[(_first + Count) % Capacity] = b;
        Count++;
    }

    /// <summary>Adds ASCII text.</summary>
    public void Add(string text)
    {
        for (int i = 0; i < text.Length; i++)
        {
            Add((byte)text[i]);
        }
    }

    /// <summary>Adds bytes as a definite-length block, #&lt;digits&gt;&lt;length&gt;&lt;bytes&gt;.</summary>
    public void AddBlock(byte[] bytes)
    {
        string length = bytes.Length.ToString();
        Add("#" + length.Length + length);
        for (int i = 0; i < bytes.Length; i++)
        {
            Add(bytes[i]);
        }
    }

    /// <summary>Writes as much to the link as it accepts at once, at most <paramref name="max"/> bytes.</summary>
    public void Drain(IByteLink link, int max)
    {
        while (Count > 0 && max > 0)
        {
            int run = Capacity - _first < Count ? Capacity - _first : Count;
            run = run < max ? run : max;
            int taken = link.Write(_ring, _first, run);
            if (taken <= 0)
            {
                return;
            }

            _first = (_first + taken) % Capacity;
            Count -= taken;
            max -= taken;
        }
    }
}
