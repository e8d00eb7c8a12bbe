// A group of commands behind the protocol: the motion's, the profile's, the shutter's. One group, one small file.

using Hourhinge.Firmware.Scpi;

namespace Hourhinge.Firmware.Protocol;

/// <summary>Executes the units whose headers it knows.</summary>
public abstract class CommandSet
{
    /// <summary>Headers for SYSTem:HELP:HEADers?, one a line, as SCPI-1999 writes them.</summary>
    public abstract string Headers { get; }

    /// <summary>Where answers go.</summary>
    protected Instrument Instrument { get; private set; }

    /// <summary>The unit in hand.</summary>
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

    /// <summary>Executes the unit in hand, with errors to the queue; false when its header is not of this
    /// set.</summary>
    public abstract bool Execute();

    /// <summary>True when the unit in hand is this query.</summary>
    protected bool IsQuery(string pattern) => Message.IsQuery && Message.HeaderIs(pattern);

    /// <summary>True when the unit in hand is this command.</summary>
    protected bool IsCommand(string pattern) => !Message.IsQuery && Message.HeaderIs(pattern);

    /// <summary>Answers a query that takes no parameters.</summary>
    protected void Answer(string text)
    {
        if (Message.EndUnit())
        {
            Instrument.Answer(text);
        }
    }

    /// <summary>Reports a error from the controller, if there is one.</summary>
    protected void Report(string error)
    {
        if (error != null)
        {
            Errors.Add(ScpiErrors.SettingsConflict, error);
            Message.Abandon();
        }
    }
}
