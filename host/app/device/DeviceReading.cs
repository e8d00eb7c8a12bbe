// Everything that `device status` and `device watch` show, read with one message.

using System.Text.Json;
using Hourhinge.App.Common;
using Hourhinge.App.Link;

namespace Hourhinge.App.Device;

/// <summary>What a controller says about itself at one moment.</summary>
internal sealed record DeviceReading
{
    private const string Queries = "MOTion:STATe?;POSition?;DUE?;ELAPsed?;REMaining?;LATeness?;FAULt?;"
        + ":STATus:QUEStionable:CONDition?;:SYSTem:ERRor:COUNt?;:SUPPly:VOLTage?;:SHUTter:STATe?;TAKen?;COUNt?";

    private const int NoProfile = 1024;

    public required string Identity { get; init; }

    /// <summary>IDLE, TRACKING, REWINDING, END, FAULT or JOGGING.</summary>
    public required string State { get; init; }

    /// <summary>Text of the fault; empty without one.</summary>
    public required string Fault { get; init; }

    /// <summary>Name of the stored rig; empty without a profile.</summary>
    public required string Rig { get; init; }

    /// <summary>Counts; not-a-number when unknown.</summary>
    public required double Position { get; init; }

    public required double Due { get; init; }

    public required double ElapsedSec { get; init; }

    public required double RemainingSec { get; init; }

    public required double WorstLatenessSec { get; init; }

    public required double MeanLatenessSec { get; init; }

    /// <summary>Volts; not-a-number without a meter.</summary>
    public required double SupplyVolts { get; init; }

    /// <summary>OFF, WAITING, EXPOSING, DONE or STOPPED.</summary>
    public required string Shutter { get; init; }

    /// <summary>Why the shutter program stopped; empty for no reason.</summary>
    public required string ShutterReason { get; init; }

    public required int FramesTaken { get; init; }

    public required int FramesPlanned { get; init; }

    /// <summary>Errors that wait in the controller's queue.</summary>
    public required int ErrorsWaiting { get; init; }

    /// <summary>True when the position is known.</summary>
    public bool IsPositionKnown => !double.IsNaN(Position);

    /// <summary>Asks a controller.</summary>
    public static DeviceReading Of(ControllerLink link)
    {
        string[] parts = ScpiAnswer.Split(link.Query(Queries), ';');
        int expected = Queries.Count(c => c == '?');
        if (parts.Length != expected)
        {
            throw new DeviceException($"the controller gave {parts.Length} of {expected} answers.");
        }

        string[] late = parts[5].Split(',');
        string[] fault = ScpiAnswer.Split(parts[6], ',');
        string[] shutter = ScpiAnswer.Split(parts[10], ',');
        if (late.Length != 2 || fault.Length != 2 || shutter.Length != 2)
        {
            throw new DeviceException("the controller's answers are damaged.");
        }

        bool hasProfile = ((int)ScpiAnswer.Number(parts[7]) & NoProfile) == 0;
        return new DeviceReading
        {
            Identity = link.Identity,
            State = parts[0],
            Position = ScpiAnswer.Number(parts[1]),
            Due = ScpiAnswer.Number(parts[2]),
            ElapsedSec = ScpiAnswer.Number(parts[3]),
            RemainingSec = ScpiAnswer.Number(parts[4]),
            WorstLatenessSec = ScpiAnswer.Number(late[0]),
            MeanLatenessSec = ScpiAnswer.Number(late[1]),
            Fault = fault[0] == "0" ? "" : ScpiAnswer.Text(fault[1]),
            Rig = hasProfile ? ScpiAnswer.Text(link.Query("PROFile:NAME?")) : "",
            ErrorsWaiting = (int)ScpiAnswer.Number(parts[8]),
            SupplyVolts = ScpiAnswer.Number(parts[9]),
            Shutter = shutter[0],
            ShutterReason = ScpiAnswer.Text(shutter[1]),
            FramesTaken = (int)ScpiAnswer.Number(parts[11]),
            FramesPlanned = (int)ScpiAnswer.Number(parts[12]),
        };
    }

    /// <summary>Writes the fields of --json.</summary>
    public void Write(Utf8JsonWriter w)
    {
        w.WriteString("controller", Identity);
        w.WriteString("state", State);
        w.WriteString("fault", Fault.Length == 0 ? "no fault" : Fault);
        w.WriteString("rig", Rig);
        w.WriteBoolean("position_known", IsPositionKnown);
        w.Number("position_steps", Position, 0);
        w.Number("due_steps", Due, 0);
        w.Number("elapsed_s", ElapsedSec, 3);
        w.Number("remaining_s", RemainingSec, 3);
        w.Number("lateness_worst_s", WorstLatenessSec, 6);
        w.Number("lateness_mean_s", MeanLatenessSec, 6);
        w.Number("supply_v", SupplyVolts, 3);
        w.WriteString("shutter_state", Shutter);
        w.WriteString("shutter_reason", ShutterReason);
        w.WriteNumber("frames_taken", FramesTaken);
        w.WriteNumber("frames_planned", FramesPlanned);
        w.WriteNumber("errors_waiting", ErrorsWaiting);
    }

    /// <summary>The rows of a table: name and value.</summary>
    public IEnumerable<(string Name, string Value)> Rows()
    {
        yield return ("state", Fault.Length == 0 ? State.ToLowerInvariant() : $"FAULT: {Fault}");
        yield return ("rig", Rig.Length == 0 ? "no profile yet: upload one" : Rig);
        yield return ("position", IsPositionKnown
            ? $"{Position:0} steps (due {Due:0})"
            : "unknown: rewind, or set the hinge to its start and give: hourhinge device at-start");
        yield return ("time", IsPositionKnown
            ? $"{ElapsedSec / 60:0.0} min into the travel, {RemainingSec / 60:0.0} min left"
            : "unknown, like the position");
        yield return ("lateness", $"worst {WorstLatenessSec * 1000:0.0} ms, mean {MeanLatenessSec * 1000:0.0} ms");
        yield return ("supply", double.IsNaN(SupplyVolts) ? "not measured on this board" : $"{SupplyVolts:0.00} V");
        yield return ("shutter", ShutterText());
        yield return ("errors waiting", ErrorsWaiting == 0 ? "none" : $"{ErrorsWaiting}: hourhinge device errors");
    }

    /// <summary>State and progress of the shutter program.</summary>
    public string ShutterText() => $"{Shutter.ToLowerInvariant()}, {FramesTaken} of {FramesPlanned} frames"
        + (ShutterReason.Length > 0 ? $": {ShutterReason}" : "");
}
