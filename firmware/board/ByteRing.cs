// Bytes in order between two threads. Knows nothing of serial ports.

namespace Hourhinge.Board;

/// <summary>A ring of bytes under one lock, held only while bytes are copied. It does not wait and does not
/// grow.</summary>
public sealed class ByteRing
{
    private readonly object _sync = new object();
    private readonly byte[] _bytes;
    private int _start;
    private int _count;

    /// <summary>Room for this many bytes.</summary>
    public ByteRing(int capacity)
    {
        _bytes = new byte[capacity];
    }

    /// <summary>Bytes that can be put at this moment.</summary>
    public int Free
    {
        get
        {
            lock (_sync)
            {
                return _bytes.Length - _count;
            }
        }
    }

    /// <summary>Puts up to <paramref name="count"/> bytes; returns how many fitted.</summary>
    public int Enqueue(byte[] source, int index, int count)
    {
        lock (_sync)
        {
            int room = _bytes.Length - _count;
            int copied = count < room ? count : room;
            int at = (_start + _count) % _bytes.Length;
            for (int i = 0; i < copied; i++)
            {
                _bytes[at] = source[index + i];
                at = at + 1 == _bytes.Length ? 0 : at + 1;
            }

            _count += copied;
            return copied;
        }
    }

    /// <summary>Takes up to <paramref name="count"/> bytes; returns how many there were.</summary>
    public int Dequeue(byte[] target, int index, int count)
    {
        lock (_sync)
        {
            int copied = count < _count ? count : _count;
            for (int i = 0; i < copied; i++)
            {
                target[index + i] = _bytes[_start];
                _start = _start + 1 == _bytes.Length ? 0 : _start + 1;
            }

            _count -= copied;
            return copied;
        }
    }
}
