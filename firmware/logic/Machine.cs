// The logic put together: hardware doors in, one Pass() out. The board's loop and the rehearsal both drive this.

using System;

namespace Hourhinge.Firmware;

/// <summary>Every door that a machine needs; a part that is not fitted has a door that says so.</summary>
public sealed class Doors
{
    /// <summary>The clock.</summary>
    public IClock Clock;

    /// <summary>The stepper's driver.</summary>
    public IStepOutput Step;

    /// <summary>Home switch.</summary>
    public IInputPin Home;

    /// <summary>End switch.</summary>
    public IInputPin End;

    /// <summary>Flash.</summary>
    public IStorage Storage;

    /// <summary>The peer.</summary>
    public IByteLink Link;
}

/// <summary>The whole controller without its pins.</summary>
public sealed class Machine
{
    /// <summary>Builds the logic and loads the newest profile from flash.</summary>
    public Machine(Doors doors)
    {
        LimitSwitches limits = new LimitSwitches(doors.Home, doors.End);
        MotorDrive drive = new StepperDrive(doors.Step, doors.Clock, limits);
        Controller = new Controller(doors.Clock, drive, limits);
        Store = new ProfileStore(doors.Storage);
        Store.Load();
        if (Store.Profile != null)
        {
            Controller.UseProfile(Store.Profile);
        }

        CommandSet[] sets = { new MotionCommands(Controller), new ProfileCommands(Controller, Store) };
        Instrument = new Instrument(doors.Link, doors.Clock, Controller, sets);
    }

    /// <summary>States and motion.</summary>
    public Controller Controller { get; }

    /// <summary>Flash slots.</summary>
    public ProfileStore Store { get; }

    /// <summary>The protocol.</summary>
    public Instrument Instrument { get; }

    /// <summary>
    /// One pass of the loop: motion first, then the peer. Nothing escapes: what nobody foresaw stops the motor and
    /// becomes a fault with its text, because an unhandled exception would end the program in silence.
    /// </summary>
    public void Pass()
    {
        try
        {
            Controller.Pass();
            Instrument.Pass();
        }
        catch (Exception e)
        {
            Controller.Fail(Fault.Internal, e.Message);
        }
    }
}
