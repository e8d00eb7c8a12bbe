// Opens every part of the board once, in a safe order: outputs that move the motor or fire the shutter come first and
// are off.

using System;
using System.Device.Gpio;
using Hourhinge.Firmware;
using Hourhinge.Firmware.Control;
using Hourhinge.SharedMath.Profile;

namespace Hourhinge.Board;

/// <summary>The parts behind the hardware interfaces.</summary>
public sealed class BoardParts
{
    // How often the inputs whose edges are awaited are read all the same while nothing moves, µs.
    private const long RefreshUs = 1000000;

    // A contact has stopped bouncing this long after an edge, µs; then its level is read.
    private const long SettleUs = 50000;

    private readonly EspClock _clock = new EspClock();
    private readonly StepDriver _step;
    private readonly DcBridge _bridge;
    private readonly GpioOutput _shutter;
    private readonly GpioOutput _keepAlive;
    private readonly PulseEncoder _encoder;
    private readonly PulseCounter _stepCounter;
    private readonly SwitchInput _home;
    private readonly SwitchInput _end;
    private readonly ButtonPort _button;
    private readonly DividerSupplyMeter _supply;
    private readonly FileStorage _storage = new FileStorage();
    private long _refreshAtUs;
    private bool _wasMoving;

    /// <summary>Opens every pin. Pin functions must be mapped before.</summary>
    public BoardParts(GpioController pins, string linkPort)
    {
        _shutter = new GpioOutput(pins, BoardPins.Shutter);
        _step = new StepDriver(
            pins, BoardPins.Step, BoardPins.StepTrain, BoardPins.Direction, BoardPins.DriverEnable);
        _bridge = BoardPins.BridgeFitted
            ? new DcBridge(BoardPins.MotorForward, BoardPins.MotorBackward, BoardPins.MotorPwmHertz)
            : new DcBridge(BoardPins.MotorForward, BoardPins.MotorPwmHertz);
        Led = new GpioOutput(pins, BoardPins.Led);
        _keepAlive = new GpioOutput(pins, BoardPins.KeepAlive);
        _encoder = new PulseEncoder(BoardPins.EncoderA, BoardPins.EncoderB);
        _stepCounter = new PulseCounter(BoardPins.StepCount);
        _home = new SwitchInput(pins, BoardPins.HomeSwitch);
        _end = new SwitchInput(pins, BoardPins.EndSwitch);
        _button = new ButtonPort(pins, BoardPins.Button, _clock);
        _supply = new DividerSupplyMeter(
            BoardPins.SupplyAdcChannel, BoardPins.SupplyZeroMillivolts, BoardPins.SupplyFullScaleMillivolts);
        Link = new SerialLink(linkPort);
    }

    /// <summary>The LED, which also shows that the program has ended.</summary>
    public GpioOutput Led { get; }

    /// <summary>The peer.</summary>
    public SerialLink Link { get; }

    /// <summary>The hardware interfaces that the logic uses.</summary>
    public HardwareInterfaces HardwareInterfaces()
    {
        HardwareInterfaces hardware = new HardwareInterfaces();
        hardware.Clock = _clock;
        hardware.Step = _step;
        hardware.StepCounter = _stepCounter;
        hardware.Home = _home;
        hardware.End = _end;
        hardware.Storage = _storage;
        hardware.Link = Link;
        hardware.Pwm = _bridge;
        hardware.Encoder = _encoder;
        hardware.Button = _button;
        hardware.Led = Led;
        hardware.Shutter = _shutter;
        hardware.KeepAliveLoad = _keepAlive;
        hardware.Supply = _supply;
        hardware.MinMillivolts = BoardPins.SupplyMinMillivolts;
        return hardware;
    }

    /// <summary>One pass of the loop: the inputs, then the logic.</summary>
    public void Update(Machine machine)
    {
        // A rewind or jog may step toward a switch at speed, so the pins are read before each step. Tracking is slow
        // and lasts for hours: the levels of the last edge are good enough, and a pass allocates nothing.
        bool moves = machine.Controller.IsMoving;
        bool exact = moves && machine.Controller.State != ControllerState.Tracking;
        _home.IsExact = exact;
        _end.IsExact = exact;
        if (machine.Controller.Profile != null && machine.Controller.Profile.DriveKind == DriveProfile.DcClosedLoop)
        {
            _encoder.Refresh();
        }

        RefreshInputs(moves, exact);
        machine.Update();
    }

    // At rest and where a level is active, once a second; otherwise after an edge.
    private void RefreshInputs(bool moves, bool exact)
    {
        bool changed = _home.HasChanged || _end.HasChanged || _button.HasChanged;
        bool begins = moves && !_wasMoving;
        bool active = exact || _home.IsActive || _end.IsActive || _button.IsActive;
        _wasMoving = moves;
        if (moves && !active && !begins && !changed)
        {
            return;
        }

        if (exact)
        {
            // The button stops the motor: a press must not wait for an interrupt that may be missed.
            _button.Refresh();
        }

        long now = _clock.NowMicroseconds;
        if (changed && _refreshAtUs > now + SettleUs)
        {
            _refreshAtUs = now + SettleUs;
        }

        if (begins || now >= _refreshAtUs)
        {
            _refreshAtUs = now + RefreshUs;
            _home.Refresh();
            _end.Refresh();
            _button.Refresh();
        }
    }

    /// <summary>Switches motor, shutter and load off, each even when another one fails.</summary>
    public void AllOff()
    {
        for (int part = 0; part < 5; part++)
        {
            try
            {
                switch (part)
                {
                    case 0: _step.RunAtHertz(0); break;
                    case 1: _step.SetEnabled(false); break;
                    case 2: _bridge.SetDutyPerTenThousand(0); break;
                    case 3: _shutter.Set(false); break;
                    default: _keepAlive.Set(false); break;
                }
            }
            catch (Exception)
            {
                // Continue with the next part.
            }
        }
    }
}
