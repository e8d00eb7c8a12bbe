// The logic put together: hardware interfaces in, one Update() out. The board's loop and the rehearsal both call it.

using System;
using Hourhinge.Firmware.Control;
using Hourhinge.Firmware.Drives;
using Hourhinge.Firmware.Guards;
using Hourhinge.Firmware.Hardware;
using Hourhinge.Firmware.Panel;
using Hourhinge.Firmware.Protocol;
using Hourhinge.Firmware.Storage;

namespace Hourhinge.Firmware;

/// <summary>The hardware interfaces of a machine; null where a part is not fitted, unless its text says
/// otherwise.</summary>
public sealed class HardwareInterfaces
{
    /// <summary>The clock.</summary>
    public IClock Clock;

    /// <summary>The stepper's driver; null for a DC motor.</summary>
    public IStepOutput Step;

    /// <summary>Counts the pulses at the driver; null where it is not wired.</summary>
    public IPulseCounter StepCounter;

    /// <summary>The DC motor's bridge or transistor; null for a stepper.</summary>
    public IPwmOutput Pwm;

    /// <summary>The DC motor's encoder; null for an open-loop drive.</summary>
    public IEncoder Encoder;

    /// <summary>Home switch.</summary>
    public IInputPin Home;

    /// <summary>End switch.</summary>
    public IInputPin End;

    /// <summary>The one button; null where none is fitted.</summary>
    public IGestureSource Button;

    /// <summary>The LED; null where none is fitted.</summary>
    public IOutputPin Led;

    /// <summary>The remote shutter; null where none is fitted.</summary>
    public IOutputPin Shutter;

    /// <summary>A load that keeps a power bank awake; null where none is fitted.</summary>
    public IOutputPin KeepAliveLoad;

    /// <summary>The supply meter; null where none is fitted.</summary>
    public ISupplyMeter Supply;

    /// <summary>Below this supply the board moves nothing, mV; 0 for no such limit.</summary>
    public int MinMillivolts;

    /// <summary>Flash.</summary>
    public IStorage Storage;

    /// <summary>The peer.</summary>
    public IByteLink Link;
}

/// <summary>The whole controller without its pins.</summary>
public sealed class Machine
{
    private readonly IClock _clock;
    private readonly OneButton _button;

    // The message of an exception after which the hardware could not be switched off yet.
    private string _unhandled;

    /// <summary>Builds the logic and loads the newest profile from flash.</summary>
    public Machine(HardwareInterfaces hardware)
    {
        _clock = hardware.Clock;
        BoardStore board = new BoardStore(hardware.Storage);
        LimitSwitches limits = new LimitSwitches(hardware.Home, hardware.End);
        Supply = new SupplyMonitor(hardware.Supply, hardware.MinMillivolts);
        DriveChooser drive = new DriveChooser(
            hardware.Step == null
            ? null
            : new StepperDrive(hardware.Step, hardware.StepCounter, hardware.Clock, limits),
            hardware.Pwm == null || hardware.Encoder == null
            ? null
            : new EncoderDrive(hardware.Pwm, hardware.Encoder, limits, Supply),
            hardware.Pwm == null ? null : new OpenLoopDrive(hardware.Pwm, limits, Supply));
        Controller = new Controller(hardware.Clock, drive, limits, Supply);
        Store = new ProfileStore(hardware.Storage);
        Store.Load();
        Storage = new StorageHealth(Store, board);
        Shutter = new ShutterProgram(hardware.Shutter, Controller);
        Light = new StatusLight(hardware.Led, Controller, Shutter, Storage);
        _button = new OneButton(hardware.Button, Controller, Light);
        KeepAlive = new KeepAlive(hardware.KeepAliveLoad);
        ProfileChange change = new ProfileChange(Controller, Store, drive, Shutter, board.Limits);
        change.UseStored();

        CommandSet[] sets =
        {
            new MotionCommands(Controller),
            new ProfileCommands(Store, change),
            new ShutterCommands(Shutter, Store, change),
            new RigCommands(Store, change),
            new SupplyCommands(Supply, KeepAlive),
            new BoardCommands(board, Store, Controller, change),
        };
        Instrument = new Instrument(hardware.Link, hardware.Clock, Controller, Storage, sets);
    }

    /// <summary>States and motion.</summary>
    public Controller Controller { get; }

    /// <summary>The supply voltage.</summary>
    public SupplyMonitor Supply { get; }

    /// <summary>The remote shutter.</summary>
    public ShutterProgram Shutter { get; }

    /// <summary>The LED.</summary>
    public StatusLight Light { get; }

    /// <summary>The load that keeps a power bank awake.</summary>
    public KeepAlive KeepAlive { get; }

    /// <summary>Flash slots.</summary>
    public ProfileStore Store { get; }

    /// <summary>Whether what was stored can still be read.</summary>
    public StorageHealth Storage { get; }

    /// <summary>The protocol.</summary>
    public Instrument Instrument { get; }

    /// <summary>
    /// One pass of the loop: motion first, then the shutter, then what may be late: the supply voltage, the peer, the
    /// button, the LED, the load. An unhandled exception would end the program silently, so it stops the motor,
    /// releases the shutter and raises fault 7 with the exception's message.
    /// </summary>
    public void Update()
    {
        if (_unhandled != null && !HandleUnhandled())
        {
            return;
        }

        try
        {
            long now = _clock.NowMicroseconds;
            Controller.Update();
            Shutter.Update();
            Supply.Update(now);
            Instrument.Update();
            _button.Poll();
            Shutter.StopUnlessTracking();
            Light.Update(now);
            KeepAlive.Update(now);
        }
        catch (Exception e)
        {
            _unhandled = e.Message;
            HandleUnhandled();
        }
    }

    // The shutter first: releasing it cannot fail for the same reason as the motor. False when the hardware fails even
    // when it is switched off: the next pass tries again, and does nothing else before it has succeeded.
    private bool HandleUnhandled()
    {
        try
        {
            Shutter.Stop("internal error");
            Controller.Fail(Fault.Internal, _unhandled);
            _unhandled = null;
            return true;
        }
        catch (Exception)
        {
            return false;
        }
    }
}
