// Keeps the board's own limits in flash, apart from the profiles: one record behind each slot. STORAGE.md describes it.

using Hourhinge.Firmware.Guards;
using Hourhinge.Firmware.Hardware;
using Hourhinge.SharedMath.Profile;

namespace Hourhinge.Firmware.Storage;

/// <summary>Two records, written one after the other; of two valid ones the later is used.</summary>
public sealed class BoardStore
{
    private const long Magic = 0x64426848; // "HhBd"
    private const int At = StorageLayout.BoardRecordAt;
    private const int Bytes = StorageLayout.BoardRecordBytes;
    private const int CrcAt = Bytes - 4;

    private readonly IStorage _storage;
    private readonly byte[] _record = new byte[Bytes];
    private long _sequence;

    /// <summary>Reads the limits.</summary>
    public BoardStore(IStorage storage)
    {
        _storage = storage;
        Limits = new BoardLimits();
        for (int area = 0; area < 2; area++)
        {
            Read(area);
        }
    }

    /// <summary>The limits in force; one object for the life of the controller.</summary>
    public BoardLimits Limits { get; }

    /// <summary>True when a record was stored and can no longer be read.</summary>
    public bool IsDamaged { get; private set; }

    /// <summary>Stores limits and puts them in force; false when the flash refuses, and then the old ones
    /// stay.</summary>
    public bool Save(BoardLimits limits)
    {
        // The first copy is good before the second is touched.
        if (!Write(0, limits, _sequence + 1) || !Write(1, limits, _sequence + 1))
        {
            // A copy that was written must not win at the next power-up.
            Write(0, Limits, _sequence);
            Write(1, Limits, _sequence);
            return false;
        }

        _sequence++;
        Limits.Set(limits);
        IsDamaged = false;
        return true;
    }

    private bool Write(int area, BoardLimits limits, long sequence)
    {
        int at = LittleEndian.Put(_record, 0, 4, Magic);
        at = LittleEndian.Put(_record, at, 4, sequence);
        at = LittleEndian.Put(_record, at, 4, limits.RateCountsPerSec);
        at = LittleEndian.Put(_record, at, 4, limits.TravelCounts & 0xFFFFFFFF);
        at = LittleEndian.Put(_record, at, 4, limits.TravelCounts >> 32);
        LittleEndian.Put(_record, at, 8, (limits.HomeFitted ? 1 : 0) + (limits.EndFitted ? 2 : 0));
        LittleEndian.Put(_record, CrcAt, 4, Crc32.Of(_record, 0, CrcAt));
        byte[] check = new byte[Bytes];
        return _storage.Write(area, At, _record, 0, Bytes) && _storage.Read(area, At, check, 0, Bytes) == Bytes
            && Crc32.Of(check, 0, CrcAt) == Crc32.Of(_record, 0, CrcAt);
    }

    private void Read(int area)
    {
        int count = _storage.Read(area, At, _record, 0, Bytes);
        if (count == 0)
        {
            return;
        }

        bool blank = true;
        for (int i = 1; i < count; i++)
        {
            blank &= _record[i] == _record[0];
        }

        if (count == Bytes && blank && (_record[0] == 0xFF || _record[0] == 0))
        {
            return;
        }

        if (count != Bytes || LittleEndian.Get(_record, 0, 4) != Magic
            || (uint)LittleEndian.Get(_record, CrcAt, 4) != Crc32.Of(_record, 0, CrcAt))
        {
            IsDamaged = true;
            return;
        }

        long sequence = LittleEndian.Get(_record, 4, 4);
        if (sequence <= _sequence)
        {
            return;
        }

        _sequence = sequence;
        Limits.RateCountsPerSec = LittleEndian.GetInt32(_record, 8);
        Limits.TravelCounts = LittleEndian.Get(_record, 12, 4) | (LittleEndian.Get(_record, 16, 4) << 32);
        Limits.HomeFitted = (_record[20] & 1) != 0;
        Limits.EndFitted = (_record[20] & 2) != 0;
    }
}
