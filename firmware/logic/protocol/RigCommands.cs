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
    // Handlers below RigParameters.Count are the index of the number that they set.
    private const int Word = 1000, Apply = 1001, Cancel = 1002, Changed = 1003;

    private static readonly CommandRow[] _rows =
    {
        new CommandRow(":RIG:FORM", CommandRow.Both, Word, "`STRaight`, `BENT` or `FIXed`",
            "hinge form. -224 for another word"),
        new CommandRow(":RIG:DIRection", CommandRow.Both, Word, "`OPENs` or `CLOSes`",
            "what the hinge does while it tracks"),
        new CommandRow(":RIG:THRead", CommandRow.Both, Word, "name such as `\"M6\"` or `\"1/4-20\"`",
            "pitch by ISO 261 or ASME B1.1; answers like `:RIG:PITCh`. -224 for an unknown thread"),
        new CommandRow(":RIG:PITCh", CommandRow.Both, Word,
            "mm, 0.1 to 26, and optionally the threads in that length, 1 to 1000",
            "`25.4,20` is a quarter-inch coarse thread, exactly"),
        new CommandRow(":RIG:GEAR", CommandRow.Both, Word, "pairs of tooth counts, nut's side first",
            "whole train as a fraction"),
        new CommandRow(":RIG:RATE", CommandRow.Both, Word, "`STARs`, `REFRacted`, `SUN` or `MOON`",
            "which rate to follow"),
        new CommandRow(":RIG:PERiodic", CommandRow.Both, Word,
            "number of the periodic error, 1 to 3, period in nut turns, amplitude in micrometres, phase in degrees",
            "periodic errors to correct; the query answers period, amplitude and phase of all three"),
        Number(":RIG:RATE:CORRection", RigParameters.RateCorrection, "correction on top of the rate"),
        Number(":RIG:RATE:LATitude", RigParameters.Latitude, "for `REFRacted`"),
        Number(":RIG:RATE:DECLination", RigParameters.Declination, "for `REFRacted`"),
        Number(":RIG:RATE:HOUR", RigParameters.HourAngle, "for `REFRacted`"),
        Number(":RIG:ARM:NUT", RigParameters.NutArm, "hinge axis to nut pivot"),
        Number(":RIG:ARM:ANCHor", RigParameters.AnchorArm, "hinge axis to rod anchor"),
        Number(":RIG:BEND", RigParameters.BendRadius, "radius of a bent rod"),
        Number(":RIG:RADius", RigParameters.Radius, "hinge axis to a fixed rod"),
        Number(":RIG:OFFSet", RigParameters.SurfaceOffset, "riding surface below the hinge axis"),
        Number(":RIG:TIP", RigParameters.TipRadius, "radius of the tip"),
        Number(":RIG:ROD:SHORtest", RigParameters.Shortest, "rod at the start of the travel of a hinge that opens"),
        Number(":RIG:ROD:LONGest", RigParameters.Longest, "rod at its end"),
        Number(":RIG:MOTor:STEPs", RigParameters.Steps, "full steps, or encoder counts, of a motor turn"),
        Number(":RIG:MOTor:MICRosteps", RigParameters.Microsteps, "microsteps of a step"),
        Number(":RIG:MOTor:PULLin", RigParameters.PullIn, "fastest start without a ramp"),
        Number(":RIG:MOTor:REWind", RigParameters.Rewind, "fast leg of a rewind"),
        Number(":RIG:MOTor:RAMP", RigParameters.Ramp, "ramp of a rewind"),
        Number(":RIG:MOTor:APPRoach", RigParameters.Approach, "slow approach to the home switch"),
        Number(":RIG:MOTor:REVersed", RigParameters.Reversed, "motor turns the other way"),
        Number(":RIG:MOTor:RELease", RigParameters.Release, "release the coils when idle"),
        Number(":RIG:MOTor:ONEWay", RigParameters.ForwardOnly, "a DC motor without a bridge"),
        Number(":RIG:SWITch:HOME", RigParameters.HomeSwitch, "home switch fitted"),
        Number(":RIG:SWITch:END", RigParameters.EndSwitch, "end switch fitted"),
        Number(":RIG:SWITch:BACKoff", RigParameters.BackOff, "back-off from the home switch"),
        Number(":RIG:CLOCk", RigParameters.ClockTrim, "clock trim of the edited rig"),
        new CommandRow(":RIG:CHANged", CommandRow.Query, Changed, "", "1 while an edited copy waits, else 0"),
        new CommandRow(":RIG:APPLy", CommandRow.Command, Apply, "",
            "compiles, stores and verifies the edited copy"),
        new CommandRow(":RIG:CANCel", CommandRow.Command, Cancel, "", "discards the edited copy"),
    };

    private readonly ProfileStore _store;
    private readonly ProfileChange _change;
    private readonly RigWords _words;
    private RigParameters _edited;

    /// <summary>Edits the rig of the profile in this store.</summary>
    public RigCommands(ProfileStore store, ProfileChange change)
        : base(_rows)
    {
        _store = store;
        _change = change;
        _words = new RigWords();
    }

    // The edited copy, else the profile's own, else the defaults.
    private RigParameters Current => _edited ?? _store.Profile?.Rig ?? new RigParameters();

    /// <inheritdoc/>
    protected override void Query(CommandRow row)
    {
        switch (row.Handler)
        {
            case Changed:
                Answer(_edited == null ? "0" : "1");
                break;
            case Word:
                Answer(_words.AnswerTo(Message, Current));
                break;
            default:
                Answer(RigParameters.Text(Current.Values[row.Handler], row.Scale));
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
            case Word:
                copy = Current.Copy();
                _words.Parse(Message, copy, Errors, out bool changed);
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

    private static CommandRow Number(string header, int index, string effect) => new CommandRow(
        header, CommandRow.Both, index, RigParameters.Name(index), RigParameters.Scale(index),
        RigParameters.Least(index), RigParameters.Most(index), effect);

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
