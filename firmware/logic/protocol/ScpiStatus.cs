// Status reporting and the common commands: IEEE 488.2 chapters 10 and 11, SCPI-1999 volume 1 chapters 4 and 9.

using Hourhinge.Firmware.Control;
using Hourhinge.Firmware.Scpi;

namespace Hourhinge.Firmware.Protocol;

/// <summary>Registers, *-commands, and the SYSTem and STATus subsystems.</summary>
public sealed class ScpiStatus
{
    /// <summary>Bits of the OPERation condition register that SCPI leaves to the designer.</summary>
    public const int Tracking = 256, Rewinding = 512, EndOfTravel = 1024, Jogging = 2048;

    /// <summary>Bits of the QUEStionable condition register that SCPI leaves to the designer.</summary>
    public const int PositionUnknown = 512, NoProfile = 1024, InFault = 2048;

    /// <summary>Headers of this group.</summary>
    public const string Headers =
        "*CLS/nquery/\n*ESE\n*ESR?/qonly/\n*IDN?/qonly/\n*OPC\n*RST/nquery/\n*SRE\n*STB?/qonly/\n*TST?/qonly/\n*WAI/nquery/\n"
        + ":SYSTem:ERRor[:NEXT]?/qonly/\n:SYSTem:ERRor:COUNt?/qonly/\n:SYSTem:VERSion?/qonly/\n"
        + ":SYSTem:HELP:HEADers?/qonly/\n"
        + ":STATus:OPERation[:EVENt]?/qonly/\n:STATus:OPERation:CONDition?/qonly/\n:STATus:OPERation:ENABle\n"
        + ":STATus:QUEStionable[:EVENt]?/qonly/\n:STATus:QUEStionable:CONDition?/qonly/\n:STATus:QUEStionable:ENABle\n"
        + ":STATus:PRESet/nquery/\n";

    private const string Identity = "Hourhinge,Hinge controller,0,1.0";
    private const int OperationComplete = 1;
    private const int PowerOn = 128;

    private readonly Controller _controller;
    private readonly ScpiErrors _errors;
    private int _event = PowerOn;
    private int _eventEnable;
    private int _serviceEnable;
    private int _operationEvent;
    private int _operationEnable;
    private int _operationBefore;
    private int _questionableEvent;
    private int _questionableEnable;
    private int _questionableBefore;
    private bool _completePending;
    private bool _answerPending;

    /// <summary>Reports on this controller.</summary>
    public ScpiStatus(Controller controller, ScpiErrors errors)
    {
        _controller = controller;
        _errors = errors;
    }

    /// <summary>Set while an answer is waiting.</summary>
    public bool MessageAvailable { get; set; }

    /// <summary>True when *OPC? is to be answered now.</summary>
    public bool AnswerOperationComplete { get; set; }

    /// <summary>True while *WAI holds the units that follow.</summary>
    public bool IsWaiting { get; private set; }

    // Rewinding and jogging are overlapped commands; tracking is a state that lasts until it is ended.
    private bool HasPendingOperation =>
        _controller.State == ControllerState.Rewinding || _controller.State == ControllerState.Jogging;

    private int OperationCondition
    {
        get
        {
            switch (_controller.State)
            {
                case ControllerState.Tracking: return Tracking;
                case ControllerState.Rewinding: return Rewinding;
                case ControllerState.EndOfTravel: return EndOfTravel;
                case ControllerState.Jogging: return Jogging;
                default: return 0;
            }
        }
    }

    private int QuestionableCondition =>
        (_controller.IsPositionKnown ? 0 : PositionUnknown)
        | (_controller.Profile == null ? NoProfile : 0)
        | (_controller.State == ControllerState.Fault ? InFault : 0);

    private int StatusByte
    {
        get
        {
            _event |= _errors.DequeueEvents();
            int value = (_errors.Count > 0 ? 4 : 0)
                | ((_questionableEvent & _questionableEnable) != 0 ? 8 : 0)
                | (MessageAvailable ? 16 : 0)
                | ((_event & _eventEnable) != 0 ? 32 : 0)
                | ((_operationEvent & _operationEnable) != 0 ? 128 : 0);
            return value | ((value & _serviceEnable & ~64) != 0 ? 64 : 0);
        }
    }

    /// <summary>Notes what has happened since the last pass.</summary>
    public void Update()
    {
        int operation = OperationCondition;
        _operationEvent |= operation & ~_operationBefore;
        _operationBefore = operation;
        int questionable = QuestionableCondition;
        _questionableEvent |= questionable & ~_questionableBefore;
        _questionableBefore = questionable;
        if (HasPendingOperation)
        {
            return;
        }

        IsWaiting = false;
        if (_completePending)
        {
            _completePending = false;
            _event |= OperationComplete;
        }

        if (_answerPending)
        {
            _answerPending = false;
            AnswerOperationComplete = true;
        }
    }

    /// <summary>Executes a unit of this group; false when its header is not of this group.</summary>
    public bool Execute(Instrument instrument, ScpiMessage message, ScpiErrors errors)
    {
        return message.IsQuery ? ExecuteQuery(instrument, message) : ExecuteCommand(message);
    }

    private bool ExecuteQuery(Instrument instrument, ScpiMessage m)
    {
        if (m.HeaderIs("*OPC"))
        {
            // Answered in its turn when nothing is pending; otherwise when the rewind is over.
            if (m.EndUnit())
            {
                _answerPending = HasPendingOperation;
                if (!_answerPending)
                {
                    instrument.Answer("1");
                }
            }

            return true;
        }

        if (m.HeaderIs("SYSTem:HELP:HEADers"))
        {
            if (m.EndUnit())
            {
                instrument.AnswerBlock(instrument.HelpHeaders());
            }

            return true;
        }

        string answer = AnswerTo(m);
        if (answer != null && m.EndUnit())
        {
            instrument.Answer(answer);
        }

        return answer != null;
    }

    private string AnswerTo(ScpiMessage m)
    {
        if (m.HeaderIs("*IDN"))
        {
            return Identity;
        }

        if (m.HeaderIs("*ESE"))
        {
            return _eventEnable.ToString();
        }

        if (m.HeaderIs("*ESR"))
        {
            _event |= _errors.DequeueEvents();
            return ReadAndClear(ref _event).ToString();
        }

        if (m.HeaderIs("*SRE"))
        {
            return _serviceEnable.ToString();
        }

        if (m.HeaderIs("*STB"))
        {
            return StatusByte.ToString();
        }

        if (m.HeaderIs("*TST"))
        {
            return _controller.State == ControllerState.Fault ? "1" : "0";
        }

        if (m.HeaderIs("SYSTem:ERRor") || m.HeaderIs("SYSTem:ERRor:NEXT"))
        {
            return _errors.Dequeue();
        }

        if (m.HeaderIs("SYSTem:ERRor:COUNt"))
        {
            return _errors.Count.ToString();
        }

        if (m.HeaderIs("SYSTem:VERSion"))
        {
            return "1999.0";
        }

        return StatusAnswerTo(m);
    }

    private string StatusAnswerTo(ScpiMessage m)
    {
        Update();
        if (m.HeaderIs("STATus:OPERation:CONDition"))
        {
            return OperationCondition.ToString();
        }

        if (m.HeaderIs("STATus:OPERation") || m.HeaderIs("STATus:OPERation:EVENt"))
        {
            return ReadAndClear(ref _operationEvent).ToString();
        }

        if (m.HeaderIs("STATus:OPERation:ENABle"))
        {
            return _operationEnable.ToString();
        }

        if (m.HeaderIs("STATus:QUEStionable:CONDition"))
        {
            return QuestionableCondition.ToString();
        }

        if (m.HeaderIs("STATus:QUEStionable") || m.HeaderIs("STATus:QUEStionable:EVENt"))
        {
            return ReadAndClear(ref _questionableEvent).ToString();
        }

        return m.HeaderIs("STATus:QUEStionable:ENABle") ? _questionableEnable.ToString() : null;
    }

    private bool ExecuteCommand(ScpiMessage m)
    {
        if (m.HeaderIs("*CLS"))
        {
            _errors.Clear();
            _event = 0;
            _operationEvent = 0;
            _questionableEvent = 0;
            _completePending = false;
            _answerPending = false;
            m.EndUnit();
        }
        else if (m.HeaderIs("*RST"))
        {
            _controller.Abort();
            _completePending = false;
            _answerPending = false;
            m.EndUnit();
        }
        else if (m.HeaderIs("*OPC"))
        {
            _completePending = true;
            m.EndUnit();
        }
        else if (m.HeaderIs("*WAI"))
        {
            IsWaiting = HasPendingOperation;
            m.EndUnit();
        }
        else if (m.HeaderIs("*ESE"))
        {
            ParseMask(m, 255, ref _eventEnable);
        }
        else if (m.HeaderIs("*SRE"))
        {
            ParseMask(m, 255, ref _serviceEnable);
        }
        else if (m.HeaderIs("STATus:OPERation:ENABle"))
        {
            ParseMask(m, 32767, ref _operationEnable);
        }
        else if (m.HeaderIs("STATus:QUEStionable:ENABle"))
        {
            ParseMask(m, 32767, ref _questionableEnable);
        }
        else if (m.HeaderIs("STATus:PRESet"))
        {
            _operationEnable = 0;
            _questionableEnable = 0;
            m.EndUnit();
        }
        else
        {
            return false;
        }

        return true;
    }

    private static void ParseMask(ScpiMessage m, int max, ref int mask)
    {
        if (m.TryParseNumber(0, 0, max, "mask", out long value) && m.EndUnit())
        {
            mask = (int)value;
        }
    }

    private static int ReadAndClear(ref int register)
    {
        int value = register;
        register = 0;
        return value;
    }
}
