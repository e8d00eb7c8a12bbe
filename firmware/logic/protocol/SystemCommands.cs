// The SYSTem and STATus subsystems: SCPI-1999 volume 2, chapters 20 and 21. The registers are ScpiStatus.cs.

namespace Hourhinge.Firmware.Protocol;

/// <summary>Error queue, version, help, and the two status registers.</summary>
public sealed class SystemCommands : CommandSet
{
    private const int NextError = 0, ErrorCount = 1, Version = 2, Help = 3, OperationEvent = 4,
        OperationCondition = 5, OperationEnable = 6, QuestionableEvent = 7, QuestionableCondition = 8,
        QuestionableEnable = 9, Preset = 10;

    private static readonly CommandRow[] _rows =
    {
        new CommandRow(":SYSTem:ERRor[:NEXT]", CommandRow.Query, NextError, "",
            "number and text of the oldest error, and removes it; `0,\"No error\"`"),
        new CommandRow(":SYSTem:ERRor:COUNt", CommandRow.Query, ErrorCount, "", "errors waiting, at most 16"),
        new CommandRow(":SYSTem:VERSion", CommandRow.Query, Version, "", "`1999.0`"),
        new CommandRow(":SYSTem:HELP:HEADers", CommandRow.Query, Help, "",
            "block: every header, one a line; `/qonly/` marks a query only, `/nquery/` a command only"),
        new CommandRow(":STATus:OPERation[:EVENt]", CommandRow.Query, OperationEvent, "",
            "conditions that have begun since it was last read"),
        new CommandRow(":STATus:OPERation:CONDition", CommandRow.Query, OperationCondition, "",
            "256 tracking, 512 rewinding, 1024 at the end, 2048 jogging"),
        new CommandRow(":STATus:OPERation:ENABle", CommandRow.Both, OperationEnable, "mask", 0, 0, 32767, 0, "mask"),
        new CommandRow(":STATus:QUEStionable[:EVENt]", CommandRow.Query, QuestionableEvent, "",
            "conditions that have begun since it was last read"),
        new CommandRow(":STATus:QUEStionable:CONDition", CommandRow.Query, QuestionableCondition, "",
            "512 position unknown, 1024 no profile, 2048 in fault, 4096 stored data damaged"),
        new CommandRow(":STATus:QUEStionable:ENABle", CommandRow.Both, QuestionableEnable, "mask", 0, 0, 32767, 0,
            "mask"),
        new CommandRow(":STATus:PRESet", CommandRow.Command, Preset, "", "both masks to 0"),
    };

    private readonly ScpiStatus _status;

    /// <summary>Commands these registers.</summary>
    public SystemCommands(ScpiStatus status)
        : base(_rows)
    {
        _status = status;
    }

    /// <inheritdoc/>
    protected override void Command(CommandRow row)
    {
        if (row.Handler == Preset)
        {
            if (Message.EndUnit())
            {
                _status.OperationEnable = 0;
                _status.QuestionableEnable = 0;
            }
        }
        else if (TryParse(row, out long mask))
        {
            if (row.Handler == OperationEnable)
            {
                _status.OperationEnable = (int)mask;
            }
            else
            {
                _status.QuestionableEnable = (int)mask;
            }
        }
    }

    /// <inheritdoc/>
    protected override void Query(CommandRow row)
    {
        // Before the answer is made: that removes an error or clears a register.
        if (!Message.EndUnit())
        {
            return;
        }

        if (row.Handler == Help)
        {
            Instrument.AnswerBlock(Instrument.HelpHeaders());
        }
        else
        {
            Instrument.Answer(AnswerTo(row.Handler));
        }
    }

    private string AnswerTo(int query)
    {
        switch (query)
        {
            case NextError: return Errors.Dequeue();
            case ErrorCount: return Errors.Count.ToString();
            case Version: return "1999.0";
            default:
                _status.Update();
                return RegisterOf(query).ToString();
        }
    }

    private int RegisterOf(int query)
    {
        switch (query)
        {
            case OperationEvent: return _status.ReadOperationEvent();
            case OperationCondition: return _status.OperationCondition;
            case OperationEnable: return _status.OperationEnable;
            case QuestionableEvent: return _status.ReadQuestionableEvent();
            case QuestionableCondition: return _status.QuestionableCondition;
            default: return _status.QuestionableEnable;
        }
    }
}
