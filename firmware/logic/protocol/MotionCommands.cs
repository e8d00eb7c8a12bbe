// INITiate, ABORt, REWind and the MOTion subsystem.

using Hourhinge.Firmware.Control;
using Hourhinge.Firmware.Guards;
using Hourhinge.Firmware.Scpi;
using Hourhinge.SharedMath.Profile;

namespace Hourhinge.Firmware.Protocol;

/// <summary>Commands that move the hinge and queries about its position.</summary>
public sealed class MotionCommands : CommandSet
{
    private const int Initiate = 0, Resume = 1, Abort = 2, Rewind = 3, State = 4, FaultReason = 5, Position = 6,
        Declare = 7, Due = 8, Elapsed = 9, Remaining = 10, Lateness = 11, Jog = 12, Train = 13;

    private static readonly CommandRow[] _rows =
    {
        new CommandRow(":INITiate[:IMMediate]", CommandRow.Command, Initiate, "",
            "starts tracking from the present position. -221 without a profile, with an unknown position, at the end, "
            + "in fault, or while rewinding"),
        new CommandRow(":INITiate:RESume", CommandRow.Command, Resume, "",
            "starts tracking and catches up to the position that is due now, as if tracking had not been stopped. "
            + "-221 also when nothing was stopped since the last rewind, jog or declaration, and when the position due "
            + "now is beyond the end"),
        new CommandRow(":ABORt", CommandRow.Command, Abort, "",
            "stops any motion at once and clears a fault. Always executed; see ABORt below"),
        new CommandRow(":REWind", CommandRow.Command, Rewind, "",
            "returns to the start. -221 without a profile, or with neither a home switch nor a known position"),
        new CommandRow(":MOTion:STATe", CommandRow.Query, State, "",
            "`IDLE`, `TRACKING`, `REWINDING`, `END`, `FAULT` or `JOGGING`"),
        new CommandRow(":MOTion:FAULt", CommandRow.Query, FaultReason, "",
            "number and text of the fault, see Faults below; fault 7 adds the exception's message"),
        new CommandRow(":MOTion:POSition", CommandRow.Query, Position, "", "counts from the start, or 9.91E37"),
        new CommandRow(":MOTion:POSition:DECLare", CommandRow.Command, Declare, "position in counts", 0, 0,
            ProfileSafety.MaxCounts, 0,
            "declares the hinge's present position. -221 while moving and beyond the end of the travel"),
        new CommandRow(":MOTion:DUE", CommandRow.Query, Due, "", "count that is due now, or 9.91E37"),
        new CommandRow(":MOTion:ELAPsed", CommandRow.Query, Elapsed, "",
            "profile time since the start, s, to 0.001"),
        new CommandRow(":MOTion:REMaining", CommandRow.Query, Remaining, "",
            "profile time to the end, s, to 0.001"),
        new CommandRow(":MOTion:LATeness", CommandRow.Query, Lateness, "",
            "worst and mean lateness of the steps since tracking started, s, to 0.000001"),
        new CommandRow(":MOTion:TRAin", CommandRow.Query, Train, "",
            "frequency of the hardware's pulse train while it tracks, Hz; 0 where the pulses are made one by one, as "
            + "they always are without a step counter"),
        new CommandRow(":MOTion:JOG", CommandRow.Command, Jog, "counts to jog", 0, -10000000, 10000000, 0,
            "moves at the pull-in speed. -221 while moving, in fault, and where it would leave the travel"),
    };

    private readonly Controller _controller;

    /// <summary>Commands this controller.</summary>
    public MotionCommands(Controller controller)
        : base(_rows)
    {
        _controller = controller;
    }

    /// <inheritdoc/>
    protected override void Command(CommandRow row)
    {
        // An emergency stop is obeyed whatever follows it; that is an error all the same.
        if (row.Handler == Abort)
        {
            _controller.Abort();
        }

        long counts = 0;
        if (row.Range != null ? !TryParse(row, out counts) : !Message.EndUnit())
        {
            return;
        }

        switch (row.Handler)
        {
            case Initiate:
                Report(_controller.Start(false));
                break;
            case Resume:
                Report(_controller.Start(true));
                break;
            case Abort:
                break;
            case Rewind:
                Report(_controller.Rewind());
                break;
            case Declare:
                Report(_controller.DeclarePosition(counts));
                break;
            default:
                Report(_controller.Jog(counts));
                break;
        }
    }

    /// <inheritdoc/>
    protected override void Query(CommandRow row) => Answer(AnswerTo(row.Handler));

    private string AnswerTo(int query)
    {
        switch (query)
        {
            case State: return ControllerState.Name(_controller.State);
            case FaultReason:
                return _controller.FaultReason + ",\"" + Fault.Text(_controller.FaultReason)
                    + (_controller.FaultDetail == null
                    ? string.Empty
                    : ": " + ScpiErrors.Quotable(_controller.FaultDetail))
                    + "\"";
            case Position: return _controller.IsPositionKnown ? _controller.Drive.Position.ToString() : NotANumber;
            case Due: return _controller.IsPositionKnown ? _controller.CountsDue.ToString() : NotANumber;
            case Elapsed: return DecimalText.Format(_controller.ProfileUs / 1000, 3);
            case Remaining: return DecimalText.Format(_controller.RemainingUs / 1000, 3);
            case Train: return _controller.Drive.TrainHertz.ToString();
            default:
                return DecimalText.Format(_controller.Lateness.WorstUs, 6) + ","
                    + DecimalText.Format(_controller.Lateness.MeanUs, 6);
        }
    }
}
