// A group of commands: its table of rows, and the dispatch from a header to the row's handler.

using Hourhinge.Firmware.Scpi;

namespace Hourhinge.Firmware.Protocol;

/// <summary>
/// Executes the units whose headers are in its table. To add a command: add a row, and a case to the switch of
/// <see cref="Command"/> or <see cref="Query"/>; the help query and PROTOCOL.md follow from the row.
/// </summary>
public abstract class CommandSet
{
    /// <summary>SCPI-1999 volume 1, 7.2.1.5: "not a number" in a numeric answer.</summary>
    protected const string NotANumber = "9.91E37";

    /// <summary>A set with this table.</summary>
    protected CommandSet(CommandRow[] rows)
    {
        Rows = rows;
    }

    /// <summary>The table.</summary>
    public CommandRow[] Rows { get; }

    /// <summary>Where answers go.</summary>
    protected Instrument Instrument { get; private set; }

    /// <summary>The current unit.</summary>
    protected ScpiMessage Message { get; private set; }

    /// <summary>Where errors go.</summary>
    protected ScpiErrors Errors { get; private set; }

    /// <summary>Connects the set to its instrument.</summary>
    public void Attach(Instrument instrument, ScpiMessage message, ScpiErrors errors)
    {
        Instrument = instrument;
        Message = message;
        Errors = errors;
    }

    /// <summary>Executes the current unit, with errors to the queue; false when its header is not in the
    /// table.</summary>
    public bool Execute()
    {
        bool isQuery = Message.IsQuery;
        for (int i = 0; i < Rows.Length; i++)
        {
            if (Message.HeaderIs(Rows[i].Header) && Rows[i].Allows(isQuery))
            {
                if (isQuery && Rows[i].Range != null && !Message.AtEndOfUnit())
                {
                    AnswerLimit(Rows[i]);
                }
                else if (isQuery)
                {
                    Query(Rows[i]);
                }
                else
                {
                    Command(Rows[i]);
                }

                return true;
            }
        }

        return false;
    }

    /// <summary>Executes a command of the table, which reads its own parameters.</summary>
    protected abstract void Command(CommandRow row);

    /// <summary>Answers a query of the table.</summary>
    protected abstract void Query(CommandRow row);

    /// <summary>Answers a query that takes no parameters.</summary>
    protected void Answer(string text)
    {
        if (Message.EndUnit())
        {
            Instrument.Answer(text);
        }
    }

    /// <summary>Reads the only parameter of a row that has a numeric range.</summary>
    protected bool TryParse(CommandRow row, out long value) =>
        Message.TryParseNumber(row.Range, out value) && Message.EndUnit();

    /// <summary>Returns the set's settings to the state that *RST documents.</summary>
    public virtual void Reset()
    {
    }

    // SCPI-1999 volume 1, 7.2.1.2: MINimum, MAXimum and DEFault behind a query ask for the limit.
    private void AnswerLimit(CommandRow row)
    {
        if (Message.TryParseLimit(row.Range, out long value))
        {
            Answer(DecimalText.Format(value, row.Range.Scale));
        }
    }

    /// <summary>Reports an error of the controller, unless it is null.</summary>
    protected void Report(string error)
    {
        if (error != null)
        {
            Errors.Add(ScpiErrors.SettingsConflict, error);
            Message.Abandon();
        }
    }
}
