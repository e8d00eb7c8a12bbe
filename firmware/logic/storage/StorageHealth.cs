// Whether what was stored can still be read: for the status registers, the self-test and the LED.

namespace Hourhinge.Firmware.Storage;

/// <summary>The state of the flash as found at power-up; a successful save repairs its part.</summary>
public sealed class StorageHealth
{
    private readonly ProfileStore _profiles;
    private readonly BoardStore _board;

    /// <summary>Watches these.</summary>
    public StorageHealth(ProfileStore profiles, BoardStore board)
    {
        _profiles = profiles;
        _board = board;
    }

    /// <summary>True when a profile slot or the board's limits are damaged or unreadable.</summary>
    public bool IsDamaged => _profiles.IsDamaged || _board.IsDamaged;
}
