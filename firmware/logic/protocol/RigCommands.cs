// The RIG subsystem for editing at the site: what was built, in words and units, from any serial terminal.
// RIG:DATA, the rig file that rides along, is ProfileCommands.cs. Headers and ranges: shared-math/rig/RigParameters.cs.

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
    private readonly ProfileStore _store;
    private readonly ProfileChange _change;
    private readonly RigTextCommands _textCommands;
    private RigParameters _edited;

    /// <summary>Edits the rig of the profile in this store.</summary>
    public RigCommands(ProfileStore store, ProfileChange change)
    {
        _store = store;
        _change = change;
        _textCommands = new RigTextCommands();
    }

    /// <inheritdoc/>
    public override string Headers
    {
        get
        {
            string text = RigTextCommands.Headers + ":RIG:APPLy/nquery/\n:RIG:CANCel/nquery/\n:RIG:CHANged?/qonly/\n";
            string last = null;
            for (int i = 0; i < RigParameters.Count; i++)
            {
                string header = RigParameters.KeyOf(i).Header;
                if (header != null && header != last)
                {
                    text += ":" + header + "\n";
                    last = header;
                }
            }

            return text;
        }
    }

    // The edited copy, else the profile's own, else the defaults.
    private RigParameters Current => _edited ?? _store.Profile?.Rig ?? new RigParameters();

    /// <inheritdoc/>
    public override bool Execute()
    {
        if (IsCommand("RIG:APPLy"))
        {
            if (Message.EndUnit())
            {
                Apply();
            }
        }
        else if (IsCommand("RIG:CANCel"))
        {
            if (Message.EndUnit())
            {
                _edited = null;
            }
        }
        else if (IsQuery("RIG:CHANged"))
        {
            Answer(_edited == null ? "0" : "1");
        }
        else
        {
            return ExecuteWord() || ExecuteNumber();
        }

        return true;
    }

    private bool ExecuteWord()
    {
        if (Message.IsQuery)
        {
            string answer = _textCommands.AnswerTo(Message, Current);
            if (answer != null)
            {
                Answer(answer);
            }

            return answer != null;
        }

        RigParameters copy = Current.Copy();
        if (!_textCommands.Parse(Message, copy, Errors, out bool changed))
        {
            return false;
        }

        _edited = changed ? copy : _edited;
        return true;
    }

    private bool ExecuteNumber()
    {
        for (int i = 0; i < RigParameters.Count; i++)
        {
            RigKey key = RigParameters.KeyOf(i);
            if (key.Header == null || !Message.HeaderIs(key.Header))
            {
                continue;
            }

            if (Message.IsQuery)
            {
                Answer(RigParameters.Format(Current.Values[i], key.Scale));
            }
            else if (Message.TakeNumber(key.Scale, key.Min, key.Max, key.Key, out long value)
                && Message.EndUnit())
            {
                RigParameters copy = Current.Copy();
                copy.Values[i] = value;
                _edited = copy;
            }

            return true;
        }

        return false;
    }

    private void Apply()
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
        DriveProfile profile = compiler.Compile(_edited, _store.Profile);
        if (profile == null)
        {
            Report(compiler.Error);
            return;
        }

        // No digest: the profile no longer comes from the rig file, which stays on board all the same.
        byte[] bytes = ProfileCodec.Encode(profile);
        if (_change.Take(bytes, 0, bytes.Length, _store.RigBytes, Errors))
        {
            _edited = null;
        }
    }
}
