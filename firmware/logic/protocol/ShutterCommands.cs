// The SHUTter subsystem: settings, start, stop and storage of the remote shutter's program.

using Hourhinge.Firmware.Panel;
using Hourhinge.Firmware.Scpi;
using Hourhinge.Firmware.Storage;
using Hourhinge.SharedMath.Profile;

namespace Hourhinge.Firmware.Protocol;

/// <summary>Commands of the shutter program. Times in seconds, dither in arcseconds.</summary>
public sealed class ShutterCommands : CommandSet
{
    // Handlers up to Auto are settings.
    private const int Count = 0, Exposure = 1, Gap = 2, Settle = 3, DitherSize = 4, Auto = 5, Start = 6, Stop = 7,
        SaveSettings = 8, State = 9, Taken = 10;

    private static readonly CommandRow[] _rows =
    {
        new CommandRow(":SHUTter:COUNt", CommandRow.Both, Count, "number of exposures", 0, 1,
            ShutterSettings.MaxFrames, 1, "exposures in the program"),
        new CommandRow(":SHUTter:EXPosure", CommandRow.Both, Exposure, "exposure in seconds", 3,
            ShutterSettings.MinExposureMs, ShutterSettings.MaxMs, 30000, "exposure time"),
        new CommandRow(":SHUTter:GAP", CommandRow.Both, Gap, "gap in seconds", 3, 0, ShutterSettings.MaxMs, 2000,
            "pause after each exposure"),
        new CommandRow(":SHUTter:SETTle", CommandRow.Both, Settle, "settling time in seconds", 3, 0,
            ShutterSettings.MaxMs, 2000, "wait before the first exposure and after a dither"),
        new CommandRow(":SHUTter:DITHer", CommandRow.Both, DitherSize, "dither in arcseconds", 3, 0,
            ShutterSettings.MaxDitherMilliarcsec, 0, "largest offset of the drive between exposures; 0 for none"),
        new CommandRow(":SHUTter:AUTO", CommandRow.Both, Auto, "start with tracking", 0, 0, 1, 0,
            "on: the program starts with tracking"),
        new CommandRow(":SHUTter:STARt", CommandRow.Command, Start, "",
            "starts the program. -221 when it runs already, while the hinge does not track, and without a shutter"),
        new CommandRow(":SHUTter:STOP", CommandRow.Command, Stop, "", "ends the program and releases the shutter"),
        new CommandRow(":SHUTter:SAVE", CommandRow.Command, SaveSettings, "",
            "stores the settings with the profile. -221 without a profile and while moving"),
        new CommandRow(":SHUTter:STATe", CommandRow.Query, State, "",
            "`OFF`, `WAITING`, `EXPOSING`, `DONE` or `STOPPED`, and the reason in quotes"),
        new CommandRow(":SHUTter:TAKen", CommandRow.Query, Taken, "", "exposures finished"),
    };

    private readonly ShutterProgram _shutter;
    private readonly ProfileStore _store;
    private readonly ProfileChange _change;

    /// <summary>Commands this program.</summary>
    public ShutterCommands(ShutterProgram shutter, ProfileStore store, ProfileChange change)
        : base(_rows)
    {
        _shutter = shutter;
        _store = store;
        _change = change;
    }

    /// <inheritdoc/>
    protected override void Command(CommandRow row)
    {
        if (row.Handler <= Auto)
        {
            Set(row);
        }
        else if (Message.EndUnit())
        {
            switch (row.Handler)
            {
                case Start:
                    Report(_shutter.Start());
                    break;
                case Stop:
                    _shutter.Stop("stopped by command");
                    break;
                default:
                    Save();
                    break;
            }
        }
    }

    /// <inheritdoc/>
    protected override void Query(CommandRow row)
    {
        switch (row.Handler)
        {
            case State:
                Answer(StateText());
                break;
            case Taken:
                Answer(_shutter.FramesTaken.ToString());
                break;
            default:
                Answer(DecimalText.Format(Value(_shutter.Settings, row.Handler), row.Range.Scale));
                break;
        }
    }

    private static int Value(ShutterSettings s, int setting)
    {
        switch (setting)
        {
            case Count: return s.Count;
            case Exposure: return s.ExposureMs;
            case Gap: return s.GapMs;
            case Settle: return s.SettleMs;
            case DitherSize: return s.DitherMilliarcsec;
            default: return s.StartsWithTracking ? 1 : 0;
        }
    }

    private void Set(CommandRow row)
    {
        if (!TryParse(row, out long parsed))
        {
            return;
        }

        if (_shutter.IsRunning)
        {
            Report("the shutter program runs: SHUTter:STOP first");
            return;
        }

        ShutterSettings s = _shutter.Settings;
        int value = (int)parsed;
        switch (row.Handler)
        {
            case Count:
                s.Count = value;
                break;
            case Exposure:
                s.ExposureMs = value;
                break;
            case Gap:
                s.GapMs = value;
                break;
            case Settle:
                s.SettleMs = value;
                break;
            case DitherSize:
                s.DitherMilliarcsec = value;
                break;
            default:
                s.StartsWithTracking = value == 1;
                break;
        }
    }

    private string StateText()
    {
        switch (_shutter.State)
        {
            case ShutterProgram.Waiting: return "WAITING,\"\"";
            case ShutterProgram.Exposing: return "EXPOSING,\"\"";
            case ShutterProgram.Done: return "DONE,\"\"";
            case ShutterProgram.Stopped: return "STOPPED,\"" + _shutter.StopReason + "\"";
            default: return _shutter.IsFitted ? "OFF,\"\"" : "OFF,\"no shutter output is fitted\"";
        }
    }

    /// <inheritdoc/>
    public override void Reset() => _shutter.RestoreSettings(_store.Profile);

    private void Save()
    {
        if (_store.Profile == null)
        {
            Report("no profile: upload one first");
            return;
        }

        DriveProfile changed = _store.CopyProfile();
        changed.Shutter = _shutter.Settings;
        byte[] bytes = ProfileCodec.Encode(changed);
        _change.Replace(bytes, 0, bytes.Length, _store.RigBytes, Errors);
    }
}
