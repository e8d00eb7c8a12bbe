// One night of a DC drive drawn at random, with an encoder or open loop. A stepper's is RandomNight.cs; the campaign
// that draws many is NightTests.cs.

using Hourhinge.Firmware;
using Hourhinge.Firmware.Control;
using Hourhinge.Firmware.Guards;
using Hourhinge.Firmware.Storage;
using Hourhinge.Rehearsal.Board;
using Hourhinge.Rehearsal.Dc;
using Hourhinge.SharedMath.Profile;
using Hourhinge.Tests.Firmware.Logic.Drives;

namespace Hourhinge.Tests.Firmware.Logic;

/// <summary>
/// Looked at in every pass: no duty toward a closed switch; no motion without a command; no shutter pressed outside
/// tracking; an encoder's position that is called known is true. At dawn everything is repaired and a rewind must bring
/// it back to idle with a known position.
/// </summary>
internal sealed class DcNight
{
    private const double TravelTurns = 6;
    private const double LongestMm = 18 + TravelTurns; // 1 mm of rod a turn.

    // Backlash, and what the motor turns between two looks.
    private const double NearTurns = 0.15;

    private static readonly string[] _commands =
    [
        "INIT", "ABOR", "REW", "INIT:RES", "MOT:JOG 40", "MOT:JOG -60", "MOT:JOG 900", "*RST", "*CLS", "SHUT:STAR",
        "SHUT:COUN 3;EXP 2;GAP 0.5;SETT 0.2;DITH 4", "SHUT:AUTO 1", "SHUT:AUTO 0", "CAL:CLOC 12.5", "SHUT:SAVE",
        "MOT:STAT?;POS?;ELAP?;REM?", "SUPP:VOLT?", "PROF:DATA?", "*OPC?", "FOO:BAR 7", "SYST:ERR?", "*WAI",
    ];

    private static readonly DriveProfile[] _profiles =
    [
        DcFixture.ClosedLoop(DriveProfile.HomeSwitchFitted | DriveProfile.EndSwitchFitted, null, LongestMm),
        DcFixture.OpenLoop(DriveProfile.HomeSwitchFitted | DriveProfile.EndSwitchFitted, LongestMm),
    ];

    private readonly Random _random;
    private readonly NightCounts _counts;
    private readonly bool _hasEncoder;
    private readonly List<string> _log = [];
    private readonly Finger _finger = new();
    private VirtualClock _clock;
    private VirtualDcMotor _motor;
    private VirtualPack _pack;
    private VirtualFlash _flash;
    private VirtualInput _home;
    private VirtualInput _end;
    private VirtualOutput _shutter;
    private ByteQueueLink _link;
    private Machine _machine;
    private double _zeroTurns;
    private bool _wasStill = true;
    private bool _slipped;
    private int _commandsInFlight;

    public DcNight(int seed, NightCounts counts)
    {
        _random = new Random(seed);
        _counts = counts;
        _hasEncoder = seed % 3 == 1;
        var flash = new VirtualFlash();
        var store = new ProfileStore(flash);
        store.Load();
        Assert.True(store.Save(ProfileCodec.Encode(_profiles[_hasEncoder ? 0 : 1]), []));
        double start = _random.Next(2) == 0 ? 0 : _random.NextDouble() * TravelTurns;
        (_clock, _motor, _pack, _flash, _home, _end, _shutter, _link, _machine) = PowerUp(flash, start);
        _slipped = start != 0;
    }

    private Controller Controller => _machine.Controller;

    public void Run()
    {
        for (int acts = _random.Next(10, 30); acts > 0; acts--)
        {
            Act();
        }

        Dawn();
        _counts.Nights++;
        _counts.Frames += _shutter.Count;
    }

    private (VirtualClock, VirtualDcMotor, VirtualPack, VirtualFlash, VirtualInput, VirtualInput, VirtualOutput,
        ByteQueueLink, Machine) PowerUp(VirtualFlash flash, double turns)
    {
        var clock = new VirtualClock(0, 2);
        var pack = new VirtualPack(clock);
        var motor = new VirtualDcMotor(clock, pack, DcFixture.Motor) { Stops = (-2, TravelTurns + 2) };
        motor.SetNutTurns(turns);
        var home = new VirtualInput(() => motor.NutTurns <= 0);
        var end = new VirtualInput(() => motor.NutTurns >= TravelTurns - 0.1);
        var shutter = new VirtualOutput();
        var link = new ByteQueueLink();
        var machine = new Machine(new HardwareInterfaces
        {
            Clock = clock,
            Pwm = motor,
            Encoder = _hasEncoder ? motor : null,
            Supply = pack,
            MinMillivolts = 4300,
            Home = home,
            End = end,
            Button = _finger,
            Led = new VirtualOutput(),
            Shutter = shutter,
            KeepAliveLoad = new VirtualOutput(),
            Storage = flash,
            Link = link,
        });
        _wasStill = true;
        return (clock, motor, pack, flash, home, end, shutter, link, machine);
    }

    private void Act()
    {
        switch (_random.Next(13))
        {
            case < 3:
                Note("gesture");
                _counts.Gestures++;
                _commandsInFlight++;
                _finger.Do(_random.Next(1, 4));
                Wait(_random.NextDouble() * 3);
                break;
            case < 7:
                Type(_commands[_random.Next(_commands.Length)]);
                break;
            case < 9:
                _counts.LinkFaults++;
                Note(LinkFaults.Do(_random, _link, Wait));
                break;
            case 9:
                BreakSwitch();
                break;
            case 10:
                CutPower();
                break;
            case 11:
                BreakMotor();
                break;
            default:
                Wait(_random.Next(1, 30));
                break;
        }
    }

    private void Type(string line)
    {
        Note(line);
        _counts.Commands++;
        _commandsInFlight++;
        _link.SendLine(line);
        Wait(0.3 + (_random.NextDouble() * 6));
        _link.Receive();
    }

    private void BreakSwitch()
    {
        VirtualInput input = _random.Next(2) == 0 ? _home : _end;
        bool hold = _random.Next(2) == 0;
        Note((input == _home ? "home " : "end ") + (hold ? "held" : "broken"));
        _counts.SwitchFaults++;
        _slipped = true;
        input.IsHeld = hold;
        input.IsWireBroken = !hold;
        Wait(_random.NextDouble() * 15);
        input.IsHeld = false;
        input.IsWireBroken = false;
        Wait(0.1);
    }

    // A jam, a dead encoder, a weak pack. An open-loop drive cannot notice a jam: its position is no longer true.
    private void BreakMotor()
    {
        Note("motor");
        _counts.MotorFaults++;
        _slipped = true;
        int kind = _random.Next(3);
        double until = _clock.TrueSec + 3;
        _motor.IsJammed = kind == 0;
        _motor.IsEncoderDead = kind == 1;
        _pack.OpenCircuitVolts = kind == 2 ? t => t < until ? 4.0 : 5.1 : _ => 5.2;
        Wait(5);
        _motor.IsJammed = false;
        _motor.IsEncoderDead = false;
        Wait(1);
    }

    private void CutPower()
    {
        Note("power cut");
        _counts.PowerCuts++;
        if (_random.Next(2) == 0)
        {
            _flash.CutAfterBytes = _random.Next(0, 1500);
            _flash.PartialByte = (byte)_random.Next(256);
            Type(_random.Next(2) == 0 ? "SHUT:SAVE" : "CAL:CLOC 3");
        }

        _counts.Frames += _shutter.Count;
        double turns = _motor.NutTurns;
        (_clock, _motor, _pack, _flash, _home, _end, _shutter, _link, _machine) = PowerUp(_flash.Copy(), turns);
        _slipped = true;
        Require(!_shutter.IsOn && Controller.State == ControllerState.Idle && _motor.Duty == 0, "woke up busy");
        Require(Controller.Profile != null, "the profile was lost in a power cut");
        Require(!Controller.IsPositionKnown || _home.IsActive, "claims a position after a power cut");
        Wait(1);
    }

    private void Wait(double seconds)
    {
        double until = _clock.TrueSec + seconds;
        while (_clock.TrueSec < until)
        {
            Pass(5 + (_random.NextDouble() * 15));
        }

        bool pending = _link.UnreadBytes > 0 || _machine.Instrument.Status.IsWaiting;
        _commandsInFlight = pending ? _commandsInFlight : 0;
    }

    private void Pass(double passMs)
    {
        double began = _clock.TrueUs;
        // Reading the clock takes time, and the motor turns meanwhile: a switch may close after it was read.
        bool atEnd = _end.IsActive, atHome = _home.IsActive;
        _machine.Update();
        Check(atEnd, atHome);
        _clock.AdvanceTo(began + (passMs * 1000));
    }

    private void Dawn()
    {
        Note("dawn");
        _pack.OpenCircuitVolts = _ => 5.2;
        _link.Connect();
        Wait(5);
        _commandsInFlight = int.MaxValue;
        Controller.Abort(); // A rewind that a broken switch has misled does not count.
        Rewind();

        // A switch that lied in an interrupted rewind may have moved the zero. The first rewind ends in a fault, the
        // position is unknown, and the second rewind looks for the switch over the whole travel.
        if (_slipped && Controller.FaultReason == Fault.HomeNotFound)
        {
            _counts.SecondRewinds++;
            Require(!Controller.IsPositionKnown, "the position is known after a rewind that failed");
            Rewind();
        }

        Require(Controller.State == ControllerState.Idle && Controller.IsPositionKnown,
            "not idle after the rewind: " + Fault.Text(Controller.FaultReason));
        Require(Math.Abs(_motor.NutTurns) <= NearTurns, $"zero is at {_motor.NutTurns:0.000} turns");
        _counts.Rewound++;
    }

    private void Rewind()
    {
        string? refusal = Controller.Rewind();
        Require(refusal == null, "refuses to rewind: " + refusal);
        double until = _clock.TrueSec + 3600;
        while (Controller.State == ControllerState.Rewinding)
        {
            Pass(10);
            Require(_clock.TrueSec < until, "rewinds for ever");
        }
    }

    private void Check(bool atEnd, bool atHome)
    {
        _counts.Passes++;
        Controller c = Controller;
        Require(!c.IsMoving || !_wasStill || _commandsInFlight > 0,
            "set off without a command: " + ControllerState.Name(c.State));
        _wasStill = !c.IsMoving;
        Require(c.IsMoving || _motor.Duty == 0, "drives in " + ControllerState.Name(c.State));
        Require(_motor.Duty <= 0 || !atEnd || !_end.IsActive, "drives toward the closed end switch");
        Require(_motor.Duty >= 0 || !atHome || !_home.IsActive, "drives toward the closed home switch");
        Require(!_shutter.IsOn || c.State == ControllerState.Tracking,
            "shutter pressed in " + ControllerState.Name(c.State));
        Require(c.FaultReason != Fault.Internal || c.FaultDetail == "power cut", "internal error: " + c.FaultDetail);
        _counts.Faults += c.State == ControllerState.Fault ? 1 : 0;
        CheckPlace(c);
    }

    // Zero is where the home switch closed, which may be a little off; from there the encoder counts truly.
    private void CheckPlace(Controller c)
    {
        if (_slipped || !_hasEncoder || !c.IsPositionKnown || c.State == ControllerState.Rewinding)
        {
            return;
        }

        double told = c.Drive.Position * TravelTurns / c.EndCounts;
        _zeroTurns = Math.Abs(_motor.NutTurns) < NearTurns && c.Drive.Position == 0 ? _motor.NutTurns : _zeroTurns;
        Require(Math.Abs(told - (_motor.NutTurns - _zeroTurns)) < NearTurns,
            $"says {told:0.000} turns, stands at {_motor.NutTurns:0.000}");
    }

    private void Note(string what) =>
        _log.Add($"{_clock.TrueSec:0.0} {what} [{ControllerState.Name(Controller.State)}]");

    private void Require(bool good, string what)
    {
        if (!good)
        {
            throw new InvalidOperationException($"{what} at {_clock.TrueSec:0.000} s; encoder {_hasEncoder}\n"
                + string.Join("\n", _log));
        }
    }
}
