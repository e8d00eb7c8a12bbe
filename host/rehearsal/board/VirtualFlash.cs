using Hourhinge.Firmware.Hardware;

namespace Hourhinge.Rehearsal.Board;

/// <summary>The power went while a byte was being written.</summary>
public sealed class PowerCutException : Exception
{
    /// <summary>A power cut.</summary>
    public PowerCutException()
        : base("power cut")
    {
    }
}

/// <summary>
/// Two areas of flash. Any test can switch on the power cut: after a number of bytes the next write stops half way,
/// leaving the byte in hand as it was, as written, or as rubbish.
/// </summary>
public sealed class VirtualFlash : IStorage
{
    private readonly byte[][] _areas;

    /// <summary>Blank flash (all FF).</summary>
    public VirtualFlash(int areaSizeBytes = 12288)
    {
        AreaSizeBytes = areaSizeBytes;
        _areas = [new byte[areaSizeBytes], new byte[areaSizeBytes]];
        Array.Fill(_areas[0], (byte)0xFF);
        Array.Fill(_areas[1], (byte)0xFF);
    }

    private VirtualFlash(VirtualFlash other)
    {
        AreaSizeBytes = other.AreaSizeBytes;
        _areas = [(byte[])other._areas[0].Clone(), (byte[])other._areas[1].Clone()];
    }

    /// <inheritdoc/>
    public int AreaSizeBytes { get; }

    /// <summary>Bytes written since the start.</summary>
    public long BytesWritten { get; private set; }

    /// <summary>Power goes before this many further bytes have been written; negative: never.</summary>
    public long CutAfterBytes { get; set; } = -1;

    /// <summary>What becomes of the byte in hand when the power goes; null leaves it as it was.</summary>
    public byte? TornByte { get; set; }

    /// <summary>Flash that refuses every write.</summary>
    public bool IsWornOut { get; set; }

    /// <summary>The same contents after power comes back.</summary>
    public VirtualFlash Copy() => new(this);

    /// <inheritdoc/>
    public int Read(int area, int offset, byte[] buffer, int index, int count)
    {
        int there = Math.Min(count, AreaSizeBytes - offset);
        Array.Copy(_areas[area], offset, buffer, index, there);
        return there;
    }

    /// <inheritdoc/>
    public bool Write(int area, int offset, byte[] buffer, int index, int count)
    {
        if (IsWornOut || offset + count > AreaSizeBytes)
        {
            return false;
        }

        for (int i = 0; i < count; i++)
        {
            if (CutAfterBytes == 0)
            {
                _areas[area][offset + i] = TornByte ?? _areas[area][offset + i];
                throw new PowerCutException();
            }

            CutAfterBytes -= CutAfterBytes > 0 ? 1 : 0;
            _areas[area][offset + i] = buffer[index + i];
            BytesWritten++;
        }

        return true;
    }
}
