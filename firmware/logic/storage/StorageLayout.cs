// What lies where in an area of flash. firmware/STORAGE.md describes it byte by byte.

using Hourhinge.SharedMath.Profile;

namespace Hourhinge.Firmware.Storage;

/// <summary>Offsets and sizes of an area, bytes. The board and the virtual flash use them.</summary>
public static class StorageLayout
{
    /// <summary>Header of a slot, and where its payload begins.</summary>
    public const int HeaderBytes = 24, PayloadAt = 32;

    /// <summary>Largest rig file that rides along.</summary>
    public const int MaxRigBytes = 4096;

    /// <summary>A slot with the largest profile and the largest rig file.</summary>
    public const int SlotBytes = PayloadAt + ProfileCodec.MaxBytes + MaxRigBytes;

    /// <summary>The board's own limits, behind the slot.</summary>
    public const int BoardRecordAt = SlotBytes, BoardRecordBytes = 32;

    /// <summary>Size of an area.</summary>
    public const int AreaBytes = SlotBytes + BoardRecordBytes;
}
