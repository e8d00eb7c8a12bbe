// The only way to replace a profile, whether it came over the link or was compiled on the controller: check that the
// hinge is at rest, decode, check that its drive is fitted, write to flash, read back, and only then use it.

using Hourhinge.Firmware.Control;
using Hourhinge.Firmware.Drives;
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
    private readonly ProfileCodec _codec = new ProfileCodec();

    /// <summary>Replaces profiles in this store for this controller.</summary>
    public ProfileChange(Controller controller, ProfileStore store, DriveChooser drives, ShutterProgram shutter)
    {
        _shutter = shutter;
        _controller = controller;
        _store = store;
        _drives = drives;
    }

    /// <summary>Uses the profile that was found in flash at power-up, if there is one and its drive is
    /// fitted.</summary>
    public void UseStored()
    {
        if (_store.Profile != null && _drives.MissingHardware(_store.Profile) == null)
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
        _controller.UseProfile(_store.Profile);
        _shutter.Configure(_store.Profile);
    }
}
