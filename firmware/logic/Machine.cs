// The logic put together: hardware doors in, one Pass() out. The board's loop and the rehearsal both drive this.

using System;

namespace Hourhinge.Firmware;

/// <summary>Every door that a machine needs; a part that is not fitted has a door that says so.</summary>
public sealed class Doors
{
    /// <summary>The clock.</summary>
    public IClock Clock;

    /// <summary>The stepper's driver; null for a DC motor.</summary>
    public IStepOutput Step;

    /// <summary>The DC motor's bridge or transistor; null for a stepper.</summary>
    public IPwmOutput Pwm;

    /// <summary>The DC motor's encoder; null for an open-loop drive.</summary>
    public IEncoder Encoder;

    /// <summary>Home switch.</summary>
    public IInputPin Home;

    /// <summary>End switch.</summary>
    public IInputPin End;

    /// <summary>The supply meter; null where none is fitted.</summary>
    public ISupplyMeter Supply;

    /// <summary>Below this the board is not trusted to move anything, mV; 0 for no such limit.</summary>
    public int LeastMillivolts;

    /// <summary>Flash.</summary>
    public IStorage Storage;

    /// <summary>The peer.</summary>
    public IByteLink Link;
}

/// <summary>The whole controller without its pins.</summary>
public sealed class Machine
{
    private readonly IClock _clock;

    /// <summary>Builds the logic and loads the newest profile from flash.</summary>
    public Machine(Doors doors)
    {
        _clock = doors.Clock;
        LimitSwitches limits = new LimitSwitches(doors.Home, doors.End);
        Supply = new SupplyMonitor(doors.Supply, doors.LeastMillivolts);
        DriveChooser drive = new DriveChooser(
            doors.Step == null ? null : new StepperDrive(doors.Step, doors.Clock, limits),
            doors.Pwm == null || doors.Encoder == null ? null : new EncoderDrive(doors.Pwm, doors.Encoder, limits, Supply),
            doors.Pwm == null ? null : new OpenLoopDrive(doors.Pwm, limits, Supply));
        Controller = new Controller(doors.Clock, drive, limits, Supply);
        Store = new ProfileStore(doors.Storage);
        Store.Load();
        ProfileChange change = new ProfileChange(Controller, Store, drive);
        change.UseStored();

        CommandSet[] sets = { new MotionCommands(Controller), new ProfileCommands(Store, change) };
        Instrument = new Instrument(doors.Link, doors.Clock, Controller, sets);
    }

    /// <summary>States and motion.</summary>
    public Controller Controller { get; }

    /// <summary>The supply voltage.</summary>
    public SupplyMonitor Supply { get; }

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
            Supply.Pass(_clock.NowMicroseconds);
            Controller.Pass();
            Instrument.Pass();
        }
        catch (Exception e)
        {
            Controller.Fail(Fault.Internal, e.Message);
        }
    }
}
