// The RIG subsystem for editing at the site: what was built, in readable words and units, from any serial terminal.
// RIG:DATA, the rig file that rides along, is ProfileCommands.cs. The table of ranges is shared-math/RigParameters.cs.

using Hourhinge.Firmware.Storage;
using Hourhinge.SharedMath.Compile;
using Hourhinge.SharedMath.Profile;
using Hourhinge.SharedMath.Rig;

namespace Hourhinge.Firmware.Protocol;

/// <summary>
/// Edits a copy of the rig's parameters; RIG:APPLy compiles the copy with the shared math, stores the profile, reads it
/// back, and only then takes it into use. Until then, and after any refusal, the old profile stays.
/// </summary>
public sealed class RigCommands : CommandSet
{
    // Headers of the plain numbers, by their index in RigParameters; null where a word or a list sets the value.
    private static readonly string[] _headers =
    {
        null, null, "RIG:ARM:NUT", "RIG:ARM:ANCHor", "RIG:BEND", "RIG:RADius", "RIG:OFFSet", "RIG:TIP",
        null, null, "RIG:ROD:SHORtest", "RIG:ROD:LONGest", null, null, "RIG:MOTor:STEPs", "RIG:MOTor:MICRosteps",
        "RIG:MOTor:PULLin", "RIG:MOTor:REWind", "RIG:MOTor:RAMP", "RIG:MOTor:APPRoach", "RIG:MOTor:REVersed",
        "RIG:MOTor:RELease", "RIG:SWITch:HOME", "RIG:SWITch:END", "RIG:SWITch:BACKoff", null, "RIG:RATE:CORRection",
        "RIG:RATE:LATitude", "RIG:RATE:DECLination", "RIG:RATE:HOUR", "RIG:CLOCk", null, "RIG:MOTor:ONEWay",
    };

    private readonly ProfileStore _store;
    private readonly ProfileChange _change;
    private readonly RigWords _words;
    private RigParameters _edited;

    /// <summary>Edits the rig of the profile in this store.</summary>
    public RigCommands(ProfileStore store, ProfileChange change)
    {
        _store = store;
        _change = change;
        _words = new RigWords();
    }

    /// <inheritdoc/>
    public override string Headers
    {
        get
        {
            string text = RigWords.Headers + ":RIG:APPLy/nquery/\n:RIG:CANCel/nquery/\n:RIG:CHANged?/qonly/\n";
            for (int i = 0; i < _headers.Length; i++)
            {
                text += _headers[i] == null ? string.Empty : ":" + _headers[i] + "\n";
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
            string answer = _words.AnswerTo(Message, Current);
            if (answer != null)
            {
                Answer(answer);
            }

            return answer != null;
        }

        RigParameters copy = Current.Copy();
        if (!_words.Parse(Message, copy, Errors, out bool changed))
        {
            return false;
        }

        _edited = changed ? copy : _edited;
        return true;
    }

    private bool ExecuteNumber()
    {
        for (int i = 0; i < _headers.Length; i++)
        {
            if (_headers[i] == null || !Message.HeaderIs(_headers[i]))
            {
                continue;
            }

            int scale = RigParameters.Scale(i);
            if (Message.IsQuery)
            {
                Answer(RigParameters.Text(Current.Values[i], scale));
            }
            else if (Message.TryParseNumber(scale, RigParameters.Least(i), RigParameters.Most(i), RigParameters.Name(i),
                out long value)
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
            Report(compiler.Refusal);
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
