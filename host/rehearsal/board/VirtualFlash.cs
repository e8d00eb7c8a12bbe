using Hourhinge.Firmware.Hardware;
using Hourhinge.Firmware.Storage;

namespace Hourhinge.Rehearsal.Board;

/// <summary>The power failed while a byte was being written.</summary>
public sealed class PowerCutException : Exception
{
    /// <summary>A power cut.</summary>
    public PowerCutException()
        : base("power cut")
    {
    }
}

/// <summary>
/// Two areas of flash. A test can request a power cut: after a number of bytes the next write stops, and the byte that
/// was being written stays unchanged or gets an arbitrary value.
/// </summary>
public sealed class VirtualFlash : IStorage
{
    private readonly byte[][] _areas;

    /// <summary>Blank flash (all FF).</summary>
    public VirtualFlash(int areaSizeBytes = StorageLayout.AreaBytes)
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

    /// <summary>The power fails after this many further bytes; negative: never.</summary>
    public long CutAfterBytes { get; set; } = -1;

    /// <summary>Value of the byte that was being written when the power failed; null leaves it unchanged.</summary>
    public byte? PartialByte { get; set; }

    /// <summary>True when every read fails.</summary>
    public bool IsUnreadable { get; set; }

    /// <summary>True when every write fails.</summary>
    public bool IsWornOut { get; set; }

    /// <summary>The area whose writes fail; negative for none.</summary>
    public int WornOutArea { get; set; } = -1;

    /// <summary>A copy of the contents, as found after the power returns.</summary>
    public VirtualFlash Copy() => new(this);

    /// <inheritdoc/>
    public int Read(int area, int offset, byte[] buffer, int index, int count)
    {
        if (IsUnreadable)
        {
            return -1;
        }

        int available = Math.Min(count, AreaSizeBytes - offset);
        Array.Copy(_areas[area], offset, buffer, index, available);
        return available;
    }

    /// <inheritdoc/>
    public bool Write(int area, int offset, byte[] buffer, int index, int count)
    {
        if (IsWornOut || area == WornOutArea || offset + count > AreaSizeBytes)
        {
            return false;
        }

        for (int i = 0; i < count; i++)
        {
            if (CutAfterBytes == 0)
            {
                _areas[area][offset + i] = PartialByte ?? _areas[area][offset + i];
                throw new PowerCutException();
            }

            CutAfterBytes -= CutAfterBytes > 0 ? 1 : 0;
            _areas[area][offset + i] = buffer[index + i];
            BytesWritten++;
        }

        return true;
    }
}
