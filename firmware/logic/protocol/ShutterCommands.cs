// The SHUTter subsystem: the program of the remote shutter, set, started, stopped, stored.

using Hourhinge.Firmware.Panel;
using Hourhinge.Firmware.Scpi;
using Hourhinge.Firmware.Storage;
using Hourhinge.SharedMath.Profile;

namespace Hourhinge.Firmware.Protocol;

/// <summary>Commands of the shutter program. Times in seconds, dither in arcseconds.</summary>
public sealed class ShutterCommands : CommandSet
{
    private readonly ShutterProgram _shutter;
    private readonly ProfileStore _store;
    private readonly ProfileChange _change;

    /// <summary>Commands this program.</summary>
    public ShutterCommands(ShutterProgram shutter, ProfileStore store, ProfileChange change)
    {
        _shutter = shutter;
        _store = store;
        _change = change;
    }

    /// <inheritdoc/>
    public override string Headers =>
        ":SHUTter:COUNt\n:SHUTter:EXPosure\n:SHUTter:GAP\n:SHUTter:SETTle\n:SHUTter:DITHer\n:SHUTter:AUTO\n"
        + ":SHUTter:STARt/nquery/\n:SHUTter:STOP/nquery/\n:SHUTter:SAVE/nquery/\n:SHUTter:STATe?/qonly/\n"
        + ":SHUTter:TAKen?/qonly/\n";

    /// <inheritdoc/>
    public override bool Execute() => Message.IsQuery ? ExecuteQuery() : ExecuteCommand();

    private bool ExecuteCommand()
    {
        ShutterSettings s = _shutter.Settings;
        if (IsCommand("SHUTter:COUNt"))
        {
            ParseSetting(0, 1, ShutterSettings.MaxFrames, "number of exposures", ref s.Count);
        }
        else if (IsCommand("SHUTter:EXPosure"))
        {
            ParseSetting(3, ShutterSettings.MinExposureMs, ShutterSettings.MaxMs, "exposure in seconds",
                ref s.ExposureMs);
        }
        else if (IsCommand("SHUTter:GAP"))
        {
            ParseSetting(3, 0, ShutterSettings.MaxMs, "gap in seconds", ref s.GapMs);
        }
        else if (IsCommand("SHUTter:SETTle"))
        {
            ParseSetting(3, 0, ShutterSettings.MaxMs, "settling time in seconds", ref s.SettleMs);
        }
        else if (IsCommand("SHUTter:DITHer"))
        {
            ParseSetting(3, 0, ShutterSettings.MaxDitherMilliarcsec, "dither in arcseconds", ref s.DitherMilliarcsec);
        }
        else if (IsCommand("SHUTter:AUTO"))
        {
            int on = 0;
            if (ParseSetting(0, 0, 1, "start with tracking (0 or 1)", ref on))
            {
                s.StartsWithTracking = on == 1;
            }
        }
        else
        {
            return ExecuteAction();
        }

        return true;
    }

    private bool ExecuteAction()
    {
        if (IsCommand("SHUTter:STARt"))
        {
            if (Message.EndUnit())
            {
                Report(_shutter.Start());
            }
        }
        else if (IsCommand("SHUTter:STOP"))
        {
            if (Message.EndUnit())
            {
                _shutter.Stop("stopped by command");
            }
        }
        else if (IsCommand("SHUTter:SAVE"))
        {
            if (Message.EndUnit())
            {
                Save();
            }
        }
        else
        {
            return false;
        }

        return true;
    }

    private bool ExecuteQuery()
    {
        ShutterSettings s = _shutter.Settings;
        string answer = IsQuery("SHUTter:STATe") ? StateText()
            : IsQuery("SHUTter:TAKen") ? _shutter.FramesTaken.ToString()
            : IsQuery("SHUTter:COUNt") ? s.Count.ToString()
            : IsQuery("SHUTter:EXPosure") ? DecimalText.Format(s.ExposureMs, 3)
            : IsQuery("SHUTter:GAP") ? DecimalText.Format(s.GapMs, 3)
            : IsQuery("SHUTter:SETTle") ? DecimalText.Format(s.SettleMs, 3)
            : IsQuery("SHUTter:DITHer") ? DecimalText.Format(s.DitherMilliarcsec, 3)
            : IsQuery("SHUTter:AUTO") ? (s.StartsWithTracking ? "1" : "0")
            : null;
        if (answer != null)
        {
            Answer(answer);
        }

        return answer != null;
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

    private bool ParseSetting(int scale, int min, int max, string name, ref int value)
    {
        if (!Message.TryParseNumber(scale, min, max, name, out long taken) || !Message.EndUnit())
        {
            return false;
        }

        if (_shutter.IsRunning)
        {
            Report("the shutter program runs: SHUTter:STOP first");
            return false;
        }

        value = (int)taken;
        return true;
    }

    private void Save()
    {
        if (_store.Profile == null)
        {
            Report("no profile: upload one first");
            return;
        }

        // A copy is changed, not the profile in use.
        DriveProfile changed = new ProfileCodec().Decode(_store.ProfileBytes, 0, _store.ProfileBytes.Length);
        changed.Shutter = _shutter.Settings;
        byte[] bytes = ProfileCodec.Encode(changed);
        _change.Replace(bytes, 0, bytes.Length, _store.RigBytes, Errors);
    }
}
