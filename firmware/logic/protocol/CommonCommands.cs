// The common commands of IEEE 488.2, chapter 10. The registers are ScpiStatus.cs.

using Hourhinge.Firmware.Control;

namespace Hourhinge.Firmware.Protocol;

/// <summary>The headers that begin with an asterisk.</summary>
public sealed class CommonCommands : CommandSet
{
    /// <summary>Version of the protocol: a host needs the same major number and at least its own minor one.</summary>
    public const int MajorVersion = 1, MinorVersion = 1;

    private static readonly string _identity =
        "Hourhinge,Hinge controller,0," + MajorVersion + "." + MinorVersion;

    private const int Clear = 0, EventEnable = 1, EventRegister = 2, Identify = 3, Complete = 4, ResetAll = 5,
        ServiceEnable = 6, StatusByte = 7, SelfTest = 8, Wait = 9;

    private static readonly CommandRow[] _rows =
    {
        new CommandRow("*CLS", CommandRow.Command, Clear, "",
            "clears the error queue, the event registers, and a waiting `*OPC`"),
        new CommandRow("*ESE", CommandRow.Both, EventEnable, "mask", 0, 0, 255, 0, "mask of the event register"),
        new CommandRow("*ESR", CommandRow.Query, EventRegister, "",
            "event register, and clears it: 1 operation complete, 8 device error (-3xx), 16 execution error (-2xx), "
            + "32 command error (-1xx), 128 power on"),
        new CommandRow("*IDN", CommandRow.Query, Identify, "", "maker, model, serial number, version"),
        new CommandRow("*OPC", CommandRow.Both, Complete, "",
            "sets bit 0 of the event register when the rewind or jog is over; `*OPC?` holds everything that follows "
            + "until then and answers 1. `ABORt` is never held"),
        new CommandRow("*RST", CommandRow.Command, ResetAll, "",
            "as `ABORt`; cancels a waiting `*OPC`, discards the edited rig and the staged rig file, restores the "
            + "shutter settings of the profile (the defaults without one), switches the keep-alive load off. Profile, "
            + "position, board limits, masks and error queue stay"),
        new CommandRow("*SRE", CommandRow.Both, ServiceEnable, "mask", 0, 0, 255, 0,
            "mask of the status byte; bit 6 is always 0"),
        new CommandRow("*STB", CommandRow.Query, StatusByte, "",
            "status byte: 4 errors waiting, 8 questionable, 16 answer waiting, 32 event, 64 summary, 128 operation"),
        new CommandRow("*TST", CommandRow.Query, SelfTest, "", "0 passed; 1 in fault, 2 stored data damaged, 3 both"),
        new CommandRow("*WAI", CommandRow.Command, Wait, "",
            "holds everything that follows, except `ABORt`, until the rewind or jog is over"),
    };

    private readonly ScpiStatus _status;
    private readonly Controller _controller;

    /// <summary>Commands these registers.</summary>
    public CommonCommands(ScpiStatus status, Controller controller)
        : base(_rows)
    {
        _status = status;
        _controller = controller;
    }

    /// <inheritdoc/>
    protected override void Command(CommandRow row)
    {
        long mask = 0;
        if (row.Range != null ? !TryParse(row, out mask) : !Message.EndUnit())
        {
            return;
        }

        switch (row.Handler)
        {
            case Clear:
                _status.Clear();
                break;
            case EventEnable:
                _status.EventEnable = (int)mask;
                break;
            case Complete:
                _status.RequestComplete();
                break;
            case ResetAll:
                _controller.Abort();
                _status.CancelComplete();
                Instrument.Reset();
                break;
            case ServiceEnable:
                _status.ServiceEnable = (int)mask;
                break;
            default:
                _status.Wait();
                break;
        }
    }

    /// <inheritdoc/>
    protected override void Query(CommandRow row)
    {
        // Before the answer is made: that clears a register.
        if (!Message.EndUnit())
        {
            return;
        }

        if (row.Handler == Complete)
        {
            // Answered in its turn: at once when nothing is pending, otherwise when the rewind is over.
            if (_status.RequestCompleteAnswer())
            {
                Instrument.Answer("1");
            }

            return;
        }

        if (row.Handler == Identify)
        {
            Instrument.Answer(_identity);
            Instrument.EndAnswers();
            return;
        }

        Instrument.Answer(AnswerTo(row.Handler));
    }

    private string AnswerTo(int query)
    {
        switch (query)
        {
            case EventEnable: return _status.EventEnable.ToString();
            case EventRegister: return _status.ReadEvent().ToString();
            case ServiceEnable: return _status.ServiceEnable.ToString();
            case StatusByte: return _status.StatusByte.ToString();
            default:
                return ((_controller.State == ControllerState.Fault ? 1 : 0)
                    + (_status.StorageIsDamaged ? 2 : 0)).ToString();
        }
    }
}
