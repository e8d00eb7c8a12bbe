// INITiate, ABORt, REWind and the MOTion subsystem.

using Hourhinge.Firmware.Control;
using Hourhinge.Firmware.Guards;
using Hourhinge.Firmware.Scpi;
using Hourhinge.SharedMath.Profile;

namespace Hourhinge.Firmware.Protocol;

/// <summary>Commands that move the hinge and queries about where it is.</summary>
public sealed class MotionCommands : CommandSet
{
    // SCPI-1999 volume 1, 7.2.1.5: "not a number" in a numeric answer.
    private const string NotANumber = "9.91E37";

    private readonly Controller _controller;

    /// <summary>Commands this controller.</summary>
    public MotionCommands(Controller controller)
    {
        _controller = controller;
    }

    /// <inheritdoc/>
    public override string Headers =>
        ":INITiate[:IMMediate]/nquery/\n:INITiate:RESume/nquery/\n:ABORt/nquery/\n:REWind/nquery/\n"
        + ":MOTion:STATe?/qonly/\n:MOTion:FAULt?/qonly/\n:MOTion:POSition?/qonly/\n:MOTion:POSition:DECLare/nquery/\n"
        + ":MOTion:DUE?/qonly/\n:MOTion:ELAPsed?/qonly/\n:MOTion:REMaining?/qonly/\n:MOTion:LATeness?/qonly/\n"
        + ":MOTion:JOG/nquery/\n";

    /// <inheritdoc/>
    public override bool Execute() => Message.IsQuery ? ExecuteQuery() : ExecuteCommand();

    private bool ExecuteCommand()
    {
        if (IsCommand("INITiate") || IsCommand("INITiate:IMMediate"))
        {
            Run(0);
        }
        else if (IsCommand("INITiate:RESume"))
        {
            Run(1);
        }
        else if (IsCommand("ABORt"))
        {
            Run(2);
        }
        else if (IsCommand("REWind"))
        {
            Run(3);
        }
        else if (IsCommand("MOTion:POSition:DECLare"))
        {
            if (Message.TryParseNumber(0, 0, ProfileSafety.MaxCounts, "position in counts", out long counts)
                && Message.EndUnit())
            {
                Report(_controller.DeclarePosition(counts));
            }
        }
        else if (IsCommand("MOTion:JOG"))
        {
            if (Message.TryParseNumber(0, -10000000, 10000000, "counts to jog", out long counts) && Message.EndUnit())
            {
                Report(_controller.Jog(counts));
            }
        }
        else
        {
            return false;
        }

        return true;
    }

    private void Run(int action)
    {
        if (!Message.EndUnit())
        {
            return;
        }

        switch (action)
        {
            case 0:
                Report(_controller.Start(false));
                break;
            case 1:
                Report(_controller.Start(true));
                break;
            case 2:
                _controller.Abort();
                break;
            default:
                Report(_controller.Rewind());
                break;
        }
    }

    private bool ExecuteQuery()
    {
        string answer = AnswerTo();
        if (answer != null)
        {
            Answer(answer);
        }

        return answer != null;
    }

    private string AnswerTo()
    {
        if (IsQuery("MOTion:STATe"))
        {
            return ControllerState.Name(_controller.State);
        }

        if (IsQuery("MOTion:FAULt"))
        {
            return _controller.FaultReason + ",\"" + Fault.Text(_controller.FaultReason) + "\"";
        }

        if (IsQuery("MOTion:POSition"))
        {
            return _controller.IsPositionKnown ? _controller.Drive.Position.ToString() : NotANumber;
        }

        if (IsQuery("MOTion:DUE"))
        {
            return _controller.IsPositionKnown ? _controller.CountsDue.ToString() : NotANumber;
        }

        if (IsQuery("MOTion:ELAPsed"))
        {
            return DecimalText.Format(_controller.ProfileUs / 1000, 3);
        }

        if (IsQuery("MOTion:REMaining"))
        {
            return DecimalText.Format(_controller.RemainingUs / 1000, 3);
        }

        return IsQuery("MOTion:LATeness")
            ? DecimalText.Format(_controller.Lateness.WorstUs, 6) + ","
            + DecimalText.Format(_controller.Lateness.MeanUs, 6)
            : null;
    }
}
