using System.Text;
using Hourhinge.Firmware.Hardware;

namespace Hourhinge.Rehearsal.Board;

/// <summary>
/// Both ends of a serial line in memory. The firmware's end is <see cref="IByteLink"/>; the peer's end is
/// <see cref="Send"/> and <see cref="Receive"/>. Safe for one thread at each end.
/// </summary>
public sealed class ByteQueueLink : IByteLink
{
    // Where a connection begins, among the bytes to the firmware.
    private const short NewConnection = -1;

    private readonly Queue<short> _toFirmware = new();
    private readonly Queue<byte> _toPeer = new();
    private readonly Lock _lock = new();
    private int _connections;
    private int _connecting;

    /// <summary>Bytes that the peer's buffer holds; 0 for a peer that does not read.</summary>
    public int PeerBufferBytes { get; set; } = 65536;

    /// <summary>Bytes that the firmware has not read yet.</summary>
    public int UnreadBytes
    {
        get
        {
            lock (_lock)
            {
                return _toFirmware.Count;
            }
        }
    }

    /// <inheritdoc/>
    public int Connections
    {
        get
        {
            lock (_lock)
            {
                return _connections;
            }
        }
    }

    /// <summary>A new peer connects: what the last one has not read is discarded.</summary>
    public void Connect()
    {
        lock (_lock)
        {
            _toPeer.Clear();
            _toFirmware.Enqueue(NewConnection);
            _connecting++;
        }
    }

    /// <inheritdoc/>
    public int Read(byte[] buffer, int index, int count)
    {
        lock (_lock)
        {
            int read = 0;
            while (read < count && _toFirmware.TryPeek(out short b))
            {
                if (b == NewConnection && read > 0)
                {
                    break;
                }

                _toFirmware.Dequeue();
                if (b == NewConnection)
                {
                    _connections++;
                    _connecting--;
                    break;
                }

                buffer[index + read++] = (byte)b;
            }

            return read;
        }
    }

    /// <inheritdoc/>
    public int Write(byte[] buffer, int index, int count)
    {
        lock (_lock)
        {
            if (_connecting > 0)
            {
                return count; // Answers to a peer that has hung up go nowhere.
            }

            int room = Math.Min(count, PeerBufferBytes - _toPeer.Count);
            for (int i = 0; i < room; i++)
            {
                _toPeer.Enqueue(buffer[index + i]);
            }

            return Math.Max(room, 0);
        }
    }

    /// <summary>The peer sends bytes.</summary>
    public void Send(ReadOnlySpan<byte> bytes)
    {
        lock (_lock)
        {
            foreach (byte b in bytes)
            {
                _toFirmware.Enqueue(b);
            }
        }
    }

    /// <summary>The peer sends a line.</summary>
    public void SendLine(string text) => Send(Encoding.ASCII.GetBytes(text + "\n"));

    /// <summary>The peer reads everything that has arrived for it.</summary>
    public byte[] Receive()
    {
        lock (_lock)
        {
            byte[] bytes = [.. _toPeer];
            _toPeer.Clear();
            return bytes;
        }
    }
}
