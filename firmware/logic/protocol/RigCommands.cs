// The RIG subsystem for editing at the site: what was built, in words and units, from any serial terminal.
// RIG:DATA, the rig file that rides along, is ProfileCommands.cs. Headers and ranges: shared-math/rig/RigParameters.cs.

using System;
using Hourhinge.Firmware.Storage;
using Hourhinge.SharedMath.Compile;
using Hourhinge.SharedMath.Profile;
using Hourhinge.SharedMath.Rig;

namespace Hourhinge.Firmware.Protocol;

/// <summary>
/// Edits a copy of the rig's parameters; RIG:APPLy compiles the copy with the shared math, stores the profile, reads it
/// back, and only then takes it into use. Until then, and after any error, the old profile stays.
/// </summary>
public sealed class RigCommands : CommandSet
{
    // Handlers below RigParameters.Count are the index of the number that they set.
    private const int Text = 1000, Apply = 1001, Cancel = 1002, Changed = 1003;

    private readonly ProfileStore _store;
    private readonly ProfileChange _change;
    private readonly RigTextCommands _textCommands;
    private RigParameters _edited;

    // The stored rig that the edits were made to.
    private RigParameters _basis;

    /// <summary>Edits the rig of the profile in this store.</summary>
    public RigCommands(ProfileStore store, ProfileChange change)
        : base(BuildRows())
    {
        _store = store;
        _change = change;
        _textCommands = new RigTextCommands();
    }

    // The profile's own, else the defaults.
    private RigParameters Stored => _store.Profile?.Rig ?? new RigParameters();

    // The edited copy, else the stored rig. A clock trim or an upload may have changed the stored rig since the first
    // edit: what was not edited follows it, so that RIG:APPLy does not undo it.
    private RigParameters Current
    {
        get
        {
            RigParameters stored = Stored;
            for (int i = 0; _edited != null && stored != _basis && i < RigParameters.Count; i++)
            {
                if (_edited.Values[i] == _basis.Values[i])
                {
                    _edited.Values[i] = stored.Values[i];
                }
            }

            _basis = stored;
            return _edited ?? stored;
        }
    }

    /// <inheritdoc/>
    protected override void Query(CommandRow row)
    {
        switch (row.Handler)
        {
            case Changed:
                Answer(_edited == null ? "0" : "1");
                break;
            case Text:
                string text = _textCommands.AnswerTo(Message, Current);
                if (text != null)
                {
                    Answer(text);
                }

                break;
            default:
                Answer(RigParameters.Format(Current.Values[row.Handler], row.Range.Scale));
                break;
        }
    }

    /// <inheritdoc/>
    protected override void Command(CommandRow row)
    {
        RigParameters copy;
        switch (row.Handler)
        {
            case Apply:
                if (Message.EndUnit())
                {
                    ApplyEdits();
                }

                break;
            case Cancel:
                if (Message.EndUnit())
                {
                    _edited = null;
                }

                break;
            case Text:
                copy = Current.Copy();
                _textCommands.Parse(Message, copy, Errors, out bool changed);
                _edited = changed ? copy : _edited;
                break;
            default:
                if (TryParse(row, out long value))
                {
                    copy = Current.Copy();
                    copy.Values[row.Handler] = value;
                    _edited = copy;
                }

                break;
        }
    }

    // The rows come from the table of the rig's keys; several values that share a header make one row.
    private static CommandRow[] BuildRows()
    {
        CommandRow[] rows = new CommandRow[RigParameters.Count + 4];
        int count = 0;
        string last = null;
        for (int i = 0; i < RigParameters.Count; i++)
        {
            RigKey key = RigParameters.KeyOf(i);
            if (key.Header != null && key.Header != last)
            {
                rows[count++] = Row(i, key);
                last = key.Header;
            }
        }

        rows[count++] = new CommandRow(":RIG:THRead", CommandRow.Both, Text,
            "name such as `\"M6\"` or `\"1/4-20\"`",
            "pitch by ISO 261 or ASME B1.1; answers like `:RIG:PITCh`. -224 for an unknown thread");
        rows[count++] =
            new CommandRow(":RIG:CHANged", CommandRow.Query, Changed, "", "1 while an edited copy waits, else 0");
        rows[count++] = new CommandRow(":RIG:APPLy", CommandRow.Command, Apply, "",
            "compiles, stores and verifies the edited copy");
        rows[count++] = new CommandRow(":RIG:CANCel", CommandRow.Command, Cancel, "", "discards the edited copy");
        CommandRow[] all = new CommandRow[count];
        Array.Copy(rows, all, count);
        return all;
    }

    private static CommandRow Row(int index, RigKey key)
    {
        string header = ":" + key.Header;
        switch (index)
        {
            case RigParameters.Pitch:
                return new CommandRow(header, CommandRow.Both, Text,
                    "mm, " + key.Range() + ", and optionally the threads in that length, "
                    + RigParameters.KeyOf(RigParameters.PitchDivisor).Range(),
                    "`25.4,20` is a quarter-inch coarse thread, exactly");
            case RigParameters.GearNumerator:
                return new CommandRow(header, CommandRow.Both, Text, "pairs of tooth counts, nut's side first",
                    "whole train as a fraction");
            case RigParameters.Periodic:
                return new CommandRow(header, CommandRow.Both, Text,
                    "number of the periodic error, 1 to 3, period in nut turns, amplitude in micrometres, "
                    + "phase in degrees",
                    "periodic errors to correct; the query takes a number, 1 by default, and answers the same four "
                    + "numbers");
            default:
                return key.ScpiWords == null
                    ? new CommandRow(header, CommandRow.Both, index, RigTextCommands.RangeOf(key), key.Meaning)
                    : new CommandRow(header, CommandRow.Both, Text, Choices(key.ScpiWords), key.Meaning);
        }
    }

    private static string Choices(string[] words)
    {
        string text = string.Empty;
        for (int i = 0; i < words.Length; i++)
        {
            text += (i == 0 ? "`" : i == words.Length - 1 ? " or `" : ", `") + words[i] + "`";
        }

        return text;
    }

    /// <inheritdoc/>
    public override void Reset() => _edited = null;

    private void ApplyEdits()
    {
        if (_edited == null)
        {
            Report("nothing has been changed");
            return;
        }

        // Compiling takes seconds on a small controller: never while a motor waits for its steps.
        if (!_change.IsAllowed(Errors))
        {
            return;
        }

        RigCompiler compiler = new RigCompiler();
        DriveProfile profile = compiler.Compile(Current, _store.Profile);
        if (profile == null)
        {
            Report(compiler.Error);
            return;
        }

        // No digest: the profile no longer comes from the rig file, which stays on board all the same.
        byte[] bytes = ProfileCodec.Encode(profile);
        if (_change.Replace(bytes, 0, bytes.Length, _store.RigBytes, Errors))
        {
            _edited = null;
        }
    }
}
