// The SUPPly subsystem: the pack's voltage and the load that keeps a power bank awake.

using Hourhinge.Firmware.Guards;
using Hourhinge.Firmware.Panel;
using Hourhinge.Firmware.Scpi;

namespace Hourhinge.Firmware.Protocol;

/// <summary>Commands of the power supply.</summary>
public sealed class SupplyCommands : CommandSet
{
    private const int Voltage = 0, KeepAliveLoad = 1;
    private const int MinPeriodMs = 100;
    private const int MaxMs = 600000;

    private static readonly CommandRow[] _rows =
    {
        new CommandRow(":SUPPly:VOLTage", CommandRow.Query, Voltage, "", "V to 0.001, or 9.91E37 without a meter"),
        new CommandRow(":SUPPly:KEEPalive", CommandRow.Both, KeepAliveLoad,
            "load time in seconds, 0 to 600, and period in seconds, 0.1 to 600",
            "load that keeps a power bank awake; a load time of 0 switches it off. -241 without the load, -221 when "
            + "the time is not shorter than the period"),
    };

    /// <summary>Range of the keep-alive load's time.</summary>
    public static readonly NumberRange LoadTime =
        new NumberRange("load time in seconds", "seconds", 3, 0, MaxMs, 0);

    /// <summary>Range of the keep-alive load's period.</summary>
    public static readonly NumberRange LoadPeriod =
        new NumberRange("load period in seconds", "seconds", 3, MinPeriodMs, MaxMs, KeepAlive.DefaultPeriodMs);

    private readonly SupplyMonitor _supply;
    private readonly KeepAlive _keepAlive;

    /// <summary>Reads this supply and sets this load.</summary>
    public SupplyCommands(SupplyMonitor supply, KeepAlive keepAlive)
        : base(_rows)
    {
        _supply = supply;
        _keepAlive = keepAlive;
    }

    /// <inheritdoc/>
    protected override void Query(CommandRow row) => Answer(row.Handler == Voltage
        ? (_supply.Millivolts < 0 ? NotANumber : DecimalText.Format(_supply.Millivolts, 3))
        : DecimalText.Format(_keepAlive.OnMs, 3) + "," + DecimalText.Format(_keepAlive.PeriodMs, 3));

    /// <inheritdoc/>
    public override void Reset()
    {
        _keepAlive.OnMs = 0;
        _keepAlive.PeriodMs = KeepAlive.DefaultPeriodMs;
    }

    /// <inheritdoc/>
    protected override void Command(CommandRow row)
    {
        if (!Message.TryParseNumber(LoadTime, out long onMs)
            || !Message.TryParseNumber(LoadPeriod, out long periodMs)
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
