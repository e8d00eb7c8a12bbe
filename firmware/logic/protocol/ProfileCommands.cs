// The PROFile and RIG subsystems and CALibration:CLOCk: what is stored, and how it is replaced.

using Hourhinge.Firmware.Scpi;
using Hourhinge.Firmware.Storage;
using Hourhinge.SharedMath.Profile;
using Hourhinge.SharedMath.Rig;

namespace Hourhinge.Firmware.Protocol;

/// <summary>
/// RIG:DATA stages a rig file in RAM; PROFile:DATA stores a profile together with the staged rig file when the
/// profile was made from it (its digest says so). Nothing is replaced while the motor moves.
/// </summary>
public sealed class ProfileCommands : CommandSet
{
    private readonly ProfileStore _store;
    private readonly ProfileChange _change;
    private byte[] _stagedRig = new byte[0];

    /// <summary>Reads this store and changes it by this way.</summary>
    public ProfileCommands(ProfileStore store, ProfileChange change)
    {
        _store = store;
        _change = change;
    }

    /// <inheritdoc/>
    public override string Headers =>
        ":PROFile:DATA\n:PROFile:CRC?/qonly/\n:PROFile:NAME?/qonly/\n:PROFile:SLOT?/qonly/\n:RIG:DATA\n:CALibration:CLOCk\n";

    /// <inheritdoc/>
    public override bool Execute()
    {
        if (IsCommand("PROFile:DATA"))
        {
            StoreProfile();
        }
        else if (IsCommand("RIG:DATA"))
        {
            StageRig();
        }
        else if (IsCommand("CALibration:CLOCk"))
        {
            SetClockTrim();
        }
        else if (IsQuery("PROFile:DATA"))
        {
            if (HasProfile() && Message.EndUnit())
            {
                Instrument.AnswerBlock(_store.ProfileBytes);
            }
        }
        else if (IsQuery("RIG:DATA"))
        {
            if (HasProfile() && Message.EndUnit())
            {
                Instrument.AnswerBlock(_store.RigBytes);
            }
        }
        else
        {
            return AnswerShort();
        }

        return true;
    }

    private bool AnswerShort()
    {
        bool crc = IsQuery("PROFile:CRC");
        bool name = IsQuery("PROFile:NAME");
        bool slot = IsQuery("PROFile:SLOT");
        bool trim = IsQuery("CALibration:CLOCk");
        if (!crc && !name && !slot && !trim)
        {
            return false;
        }

        if (slot)
        {
            Answer(_store.Slot + "," + (_store.Slot < 0 ? 0 : _store.Sequence));
        }
        else if (HasProfile())
        {
            Answer(crc ? LittleEndian.Get(_store.ProfileBytes, _store.ProfileBytes.Length - 4, 4).ToString()
                : name ? "\"" + _store.Profile.RigName + "\""
                : DecimalText.Format(_store.Profile.ClockTrimPpb, 3));
        }

        return true;
    }

    private void StageRig()
    {
        if (!Message.TryParseBlock("rig file", out int start, out int count) || !Message.EndUnit())
        {
            return;
        }

        if (count > ProfileStore.MaxRigBytes)
        {
            Errors.Add(ScpiErrors.TooMuchData, "a rig file may have at most 4096 bytes");
            return;
        }

        _stagedRig = new byte[count];
        System.Array.Copy(Message.Bytes, start, _stagedRig, 0, count);
    }

    private void StoreProfile()
    {
        if (!Message.TryParseBlock("profile", out int start, out int count) || !Message.EndUnit())
        {
            return;
        }

        // The digest is at a fixed place; a block too short for it is refused by the decoder in a moment.
        bool rigBelongs = count >= 16
            && (uint)LittleEndian.Get(Message.Bytes, start + 12, 4) == Crc32.Of(_stagedRig, 0, _stagedRig.Length);
        if (_change.Replace(Message.Bytes, start, count, rigBelongs ? _stagedRig : new byte[0], Errors))
        {
            _stagedRig = new byte[0];
        }
    }

    private void SetClockTrim()
    {
        if (!Message.TryParseNumber(3, -10000000, 10000000, "clock trim in ppm", out long trimPpb)
            || !Message.EndUnit() || !HasProfile())
        {
            return;
        }

        // A copy is changed, not the profile in use.
        DriveProfile changed = new ProfileCodec().Decode(_store.ProfileBytes, 0, _store.ProfileBytes.Length);
        changed.ClockTrimPpb = (int)trimPpb;
        if (changed.Rig != null)
        {
            changed.Rig.Values[RigParameters.ClockTrim] = trimPpb;
        }

        byte[] bytes = ProfileCodec.Encode(changed);
        _change.Replace(bytes, 0, bytes.Length, _store.RigBytes, Errors);
    }

    private bool HasProfile()
    {
        if (_store.Profile == null)
        {
            Errors.Add(ScpiErrors.SettingsConflict, "no profile: upload one first");
            Message.Abandon();
        }

        return _store.Profile != null;
    }
}
