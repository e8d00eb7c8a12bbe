// The PROFile subsystem, RIG:DATA and CALibration:CLOCk: what is stored, and how it is replaced.

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
    private const int Data = 0, Crc = 1, Name = 2, Slot = 3, RigData = 4, Clock = 5;

    private static readonly CommandRow[] _rows =
    {
        new CommandRow(":PROFile:DATA", CommandRow.Both, Data, "block",
            "stores a profile in flash, with the staged rig file when the profile was made from it. -221 while "
            + "moving, -224 with the reason for an invalid profile, -241 when its drive is not fitted, -320 when "
            + "flash cannot be written"),
        new CommandRow(":PROFile:CRC", CommandRow.Query, Crc, "", "last four bytes of the profile as a number"),
        new CommandRow(":PROFile:NAME", CommandRow.Query, Name, "", "the rig's name, in quotes"),
        new CommandRow(":PROFile:SLOT", CommandRow.Query, Slot, "",
            "slot in use (0 or 1, -1 for none) and its sequence number"),
        new CommandRow(":RIG:DATA", CommandRow.Both, RigData, "block, at most 4096 bytes",
            "stages a rig file for the next profile; the query returns the stored one"),
        new CommandRow(":CALibration:CLOCk", CommandRow.Both, Clock, "clock trim in ppm", 3, -10000000, 10000000, 0,
            "clock trim, stored with the profile. -221 while moving and without a profile"),
    };

    private readonly ProfileStore _store;
    private readonly ProfileChange _change;
    private byte[] _stagedRig = new byte[0];

    /// <summary>Reads this store and changes it through <paramref name="change"/>.</summary>
    public ProfileCommands(ProfileStore store, ProfileChange change)
        : base(_rows)
    {
        _store = store;
        _change = change;
    }

    /// <inheritdoc/>
    protected override void Command(CommandRow row)
    {
        switch (row.Handler)
        {
            case Data:
                StoreProfile();
                break;
            case RigData:
                StageRig();
                break;
            default:
                SetClockTrim(row);
                break;
        }
    }

    /// <inheritdoc/>
    protected override void Query(CommandRow row)
    {
        if (row.Handler == Slot)
        {
            Answer(_store.Slot + "," + (_store.Slot < 0 ? 0 : _store.Sequence));
            return;
        }

        if (!HasProfile())
        {
            return;
        }

        switch (row.Handler)
        {
            case Data:
                AnswerBlock(_store.ProfileBytes);
                break;
            case RigData:
                AnswerBlock(_store.RigBytes);
                break;
            case Crc:
                Answer(LittleEndian.Get(_store.ProfileBytes, _store.ProfileBytes.Length - 4, 4).ToString());
                break;
            case Name:
                Answer("\"" + ScpiErrors.Quotable(_store.Profile.RigName) + "\"");
                break;
            default:
                Answer(DecimalText.Format(_store.Profile.ClockTrimPpb, 3));
                break;
        }
    }

    private void AnswerBlock(byte[] bytes)
    {
        if (Message.EndUnit())
        {
            Instrument.AnswerBlock(bytes);
        }
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

        // The digest has a fixed offset; a block too short for it is rejected by the decoder.
        bool rigBelongs = count >= 16
            && (uint)LittleEndian.Get(Message.Bytes, start + 12, 4) == Crc32.Of(_stagedRig, 0, _stagedRig.Length);
        if (_change.Replace(Message.Bytes, start, count, rigBelongs ? _stagedRig : new byte[0], Errors))
        {
            _stagedRig = new byte[0];
        }
    }

    private void SetClockTrim(CommandRow row)
    {
        if (!TryParse(row, out long trimPpb) || !HasProfile())
        {
            return;
        }

        DriveProfile changed = _store.CopyProfile();
        changed.ClockTrimPpb = (int)trimPpb;
        if (changed.Rig != null)
        {
            changed.Rig.Values[RigParameters.ClockTrim] = trimPpb;
        }

        byte[] bytes = ProfileCodec.Encode(changed);
        _change.Replace(bytes, 0, bytes.Length, _store.RigBytes, Errors);
    }

    /// <inheritdoc/>
    public override void Reset() => _stagedRig = new byte[0];

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
