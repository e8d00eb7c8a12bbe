// The only way to replace a profile, whether it came over the link or was compiled on the controller: check that the
// hinge is at rest, decode, check that its drive is fitted and that the board allows it, write to flash, read back, and
// only then use it.

using Hourhinge.Firmware.Control;
using Hourhinge.Firmware.Drives;
using Hourhinge.Firmware.Guards;
using Hourhinge.Firmware.Panel;
using Hourhinge.Firmware.Scpi;
using Hourhinge.Firmware.Storage;
using Hourhinge.SharedMath.Profile;

namespace Hourhinge.Firmware.Protocol;

/// <summary>Replaces the profile in use; on an error the old one is still in use and still in flash.</summary>
public sealed class ProfileChange
{
    private readonly Controller _controller;
    private readonly ProfileStore _store;
    private readonly DriveChooser _drives;
    private readonly ShutterProgram _shutter;
    private readonly BoardLimits _limits;
    private readonly ProfileCodec _codec = new ProfileCodec();

    /// <summary>Replaces profiles in this store for this controller.</summary>
    public ProfileChange(Controller controller, ProfileStore store, DriveChooser drives, ShutterProgram shutter,
        BoardLimits limits)
    {
        _limits = limits;
        _shutter = shutter;
        _controller = controller;
        _store = store;
        _drives = drives;
    }

    /// <summary>Uses the profile that is in flash, if there is one, its drive is fitted and the board allows
    /// it.</summary>
    public void UseStored()
    {
        if (_store.Profile != null && _drives.MissingHardware(_store.Profile) == null
            && _limits.Error(_store.Profile) == null)
        {
            Use();
        }
    }

    /// <summary>False, with an error queued, while the motor moves.</summary>
    public bool IsAllowed(ScpiErrors errors)
    {
        if (_controller.IsMoving)
        {
            errors.Add(ScpiErrors.SettingsConflict, "moving: ABORt before changing the profile");
        }

        return !_controller.IsMoving;
    }

    /// <summary>Decodes a profile, stores it with its rig file and uses it; false, with an error queued, when it
    /// cannot. This is the only time that an upload is decoded.</summary>
    public bool Replace(byte[] bytes, int start, int count, byte[] rig, ScpiErrors errors)
    {
        if (!IsAllowed(errors))
        {
            return false;
        }

        DriveProfile profile = _codec.Decode(bytes, start, count);
        if (profile == null)
        {
            errors.Add(ScpiErrors.IllegalValue, _codec.Error);
            return false;
        }

        string missing = _drives.MissingHardware(profile);
        if (missing != null)
        {
            errors.Add(ScpiErrors.HardwareMissing, missing);
            return false;
        }

        string excess = _limits.Error(profile);
        if (excess != null)
        {
            errors.Add(ScpiErrors.IllegalValue, excess);
            return false;
        }

        if (!_store.Save(profile, bytes, start, count, rig))
        {
            errors.Add(ScpiErrors.StorageFault, _store.Error);
            return false;
        }

        Use();
        return true;
    }

    private void Use()
    {
        _limits.Apply(_store.Profile);
        _controller.UseProfile(_store.Profile);
        _shutter.Configure(_store.Profile);
    }
}
