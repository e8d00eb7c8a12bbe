// The SUPPly subsystem: the pack's voltage and the load that keeps a power bank awake.

using Hourhinge.Firmware.Guards;
using Hourhinge.Firmware.Panel;
using Hourhinge.Firmware.Scpi;

namespace Hourhinge.Firmware.Protocol;

/// <summary>Commands of the power supply.</summary>
public sealed class SupplyCommands : CommandSet
{
    private const int MaxMs = 600000;
    private const string NotANumber = "9.91E37";

    private readonly SupplyMonitor _supply;
    private readonly KeepAlive _keepAlive;

    /// <summary>Reads this supply and sets this load.</summary>
    public SupplyCommands(SupplyMonitor supply, KeepAlive keepAlive)
    {
        _supply = supply;
        _keepAlive = keepAlive;
    }

    /// <inheritdoc/>
    public override string Headers => ":SUPPly:VOLTage?/qonly/\n:SUPPly:KEEPalive\n";

    /// <inheritdoc/>
    public override bool Execute()
    {
        if (IsQuery("SUPPly:VOLTage"))
        {
            Answer(_supply.Millivolts < 0 ? NotANumber : DecimalText.Format(_supply.Millivolts, 3));
        }
        else if (IsQuery("SUPPly:KEEPalive"))
        {
            Answer(DecimalText.Format(_keepAlive.OnMs, 3) + "," + DecimalText.Format(_keepAlive.PeriodMs, 3));
        }
        else if (IsCommand("SUPPly:KEEPalive"))
        {
            SetKeepAlive();
        }
        else
        {
            return false;
        }

        return true;
    }

    private void SetKeepAlive()
    {
        if (!Message.TryParseNumber(3, 0, MaxMs, "load time in seconds", out long onMs)
            || !Message.TryParseNumber(3, 100, MaxMs, "load period in seconds", out long periodMs)
            || !Message.EndUnit())
        {
            return;
        }

        if (onMs >= periodMs)
        {
            Report("the load time must be shorter than its period");
        }
        else if (!_keepAlive.IsFitted)
        {
            Errors.Add(ScpiErrors.HardwareMissing, "no keep-alive load is fitted");
        }
        else
        {
            _keepAlive.OnMs = (int)onMs;
            _keepAlive.PeriodMs = (int)periodMs;
        }
    }
}
