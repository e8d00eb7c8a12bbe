// One night drawn at random, and the promises that must hold through it. The campaign that draws many: NightTests.cs.

using System.Text;
using Hourhinge.Firmware.Control;
using Hourhinge.Firmware.Guards;
using Hourhinge.Firmware.Panel;
using Hourhinge.Rehearsal.Board;
using Hourhinge.SharedMath.Profile;
using Hourhinge.SharedMath.Rig;

namespace Hourhinge.Tests.Firmware.Logic;

/// <summary>What a campaign counts, to show that the nights were not quiet.</summary>
internal sealed class NightCounts
{
    public long Nights, Gestures, Commands, GarbageBytes, PowerCuts, SwitchFaults, Frames, Pulses, Faults, Passes,
        Rewound, Declared,
        LinkFaults, MotorFaults, SecondRewinds, TrainPasses, CounterFaults;

    public override string ToString() =>
        $"{Nights} nights: {Passes} passes, {Pulses} steps, {Gestures} gestures, {Commands} commands, "
        + $"{GarbageBytes} bytes of garbage, {PowerCuts} power cuts, {SwitchFaults} switch faults, {LinkFaults} "
        + $"link faults, {MotorFaults} "
        + $"motor or pack faults, {TrainPasses} passes with a train, {CounterFaults} faults of its counter, {Faults} "
        + "fault "
        + $"states, {Frames} frames, {Rewound} rewound to idle ({SecondRewinds} at the second try), {Declared} "
        + "declared by hand";
}

/// <summary>
/// Invariants, looked at in every pass: no step past a closed switch, or a train's pulses of one pass; no motion from
/// rest without a command; no shutter
/// pressed outside tracking; what the controller calls known is true, or a fault or a rewind has said otherwise.
/// At dawn everything is repaired and a rewind must bring it back to idle with a known position.
/// </summary>
internal sealed class RandomNight
{
    private static readonly string[] _commands =
    [
        "INIT", "ABOR", "REW", "INIT:RES", "MOT:JOG 200", "MOT:JOG -300", "MOT:JOG 9000", "*RST", "*CLS", "SHUT:STAR",
        "SHUT:STOP",
        "SHUT:COUN 3;EXP 2;GAP 0.5;SETT 0.2;DITH 4", "SHUT:AUTO 1", "SHUT:AUTO 0", "SHUT:EXP 30",
        "SHUT:COUN 5;EXP 1;GAP 0.3;SETT 0;AUTO 1", "SHUT:COUN 9;EXP 0.5;GAP 0;SETT 0.5;DITH 2;AUTO 1", "RIG:CLOC 5",
        "RIG:APPL", "RIG:CANC",
        "CAL:CLOC 12.5", "SHUT:SAVE", "MOT:STAT?;POS?;ELAP?;REM?", "SUPP:VOLT?", "SYST:HELP:HEAD?", "PROF:DATA?",
        "*OPC?", "*IDN?", "FOO:BAR 7",
        "RIG:ARM:NUT 230", "SYST:ERR?", "*WAI", "SUPP:KEEP 0.2,2",
    ];

    private readonly Random _random;
    private readonly NightCounts _counts;
    private readonly bool _hasHome;
    private readonly bool _hasEnd;

    // Every other night the pulses are counted back, and a rig with 64 microsteps needs several a pass.
    private readonly bool _isCounted;
    private readonly int _scale;
    private readonly long _start;
    private readonly long? _endAt;
    private readonly List<string> _log = [];
    private SiteBench _bench;
    private long _pulsesBefore;
    private long _lastAt;
    private double _lastUs;
    private int _lastHertz;
    private bool _wasStill = true;
    private int _commandsInFlight;

    /// <summary>True position of microstep 0 of the drive, so that a claim of the controller can be checked.</summary>
    private bool _slipped;

    public RandomNight(int seed, NightCounts counts)
    {
        _random = new Random(seed);
        _counts = counts;
        _hasHome = _random.Next(4) > 0;
        _hasEnd = _random.Next(3) > 0;
        _isCounted = seed % 2 == 0;
        _scale = _isCounted ? 16 : 1;

        // The end switch sits a little before the profile's end on some rigs, behind it on others.
        _endAt = _hasEnd ? _scale * (2200 + _random.Next(2000)) : null;
        RigParameters rig = SiteRigs.Short(21.5 + (7 * _random.NextDouble()), false);
        rig.Values[RigParameters.HomeSwitch] = _hasHome ? 1 : 0;
        rig.Values[RigParameters.EndSwitch] = _hasEnd ? 1 : 0;
        foreach (int key in new[]
        {
            RigParameters.Microsteps, RigParameters.PullIn, RigParameters.Rewind, RigParameters.Ramp,
            RigParameters.Approach,
        })
        {
            rig.Values[key] *= _scale;
        }

        _start = _random.Next(2) == 0 ? 0 : _scale * _random.Next(0, 1500);
        _bench = Board(SiteRigs.Compile(rig), null, _start);
        _slipped = _start != 0;
    }

    public void Run()
    {
        int acts = _random.Next(15, 60);
        for (int i = 0; i < acts; i++)
        {
            Act();
        }

        Dawn();
        _counts.Nights++;
        _counts.Pulses += _bench.Motor.Pulses;
        _counts.Frames += _bench.Shutter.Count;
    }

    private SiteBench Board(DriveProfile? profile, VirtualFlash? flash, long standsAt)
    {
        var bench = new SiteBench(profile, flash, _hasHome ? 0 : null, _endAt, standsAt, _isCounted);
        // The hinge closes on itself five back-offs behind the home switch.
        bench.Motor.Stops = (-400 * _scale, 20000 * _scale);
        bench.Watch = Check;
        _wasStill = true;
        _lastAt = standsAt;
        _lastHertz = 0;
        _pulsesBefore = bench.Motor.Pulses;
        return bench;
    }

    private void Act()
    {
        switch (_random.Next(_isCounted ? 15 : 14))
        {
            case < 4:
                Mash();
                break;
            case < 7:
                Type(_commands[_random.Next(_commands.Length)]);
                break;
            case 7:
                Garbage();
                break;
            case 8:
                BreakSwitch();
                break;
            case 9:
                CutPower();
                break;
            case 10:
                Sag();
                break;
            case < 13:
                _counts.LinkFaults++;
                Note(LinkFaults.Do(_random, _bench.Link, Wait));
                break;
            case 14:
                BreakCounter();
                break;
            default:
                Wait(_random.Next(1, 40));
                break;
        }
    }

    private void Mash()
    {
        for (int i = _random.Next(1, 5); i > 0; i--)
        {
            int gesture = _random.Next(1, 4);
            Note("gesture " + gesture);
            _counts.Gestures++;
            _commandsInFlight++;
            if (gesture == Gesture.Hold && !_bench.Controller.CanRewind)
            {
                // The hold will say that the hinge has been turned back by hand; so it is, unless it is moving.
                _slipped |= _bench.Controller.IsMoving;
                _bench.Motor.Microsteps = _bench.Controller.IsMoving ? _bench.Motor.Microsteps : 0;
            }

            _bench.Finger.Do(gesture);
            Wait(0.02 + (_random.NextDouble() * 3));
        }
    }

    private void Type(string line)
    {
        Note(line);
        _counts.Commands++;
        _commandsInFlight++;
        _bench.Link.SendLine(line);
        Wait(0.3 + (_random.NextDouble() * 5));
        _bench.Link.Receive();
    }

    // Random bytes, some of them the beginning of a block that never ends. No motion may come of it.
    private void Garbage()
    {
        byte[] bytes = new byte[_random.Next(1, 3000)];
        _random.NextBytes(bytes);
        if (_random.Next(3) == 0)
        {
            Encoding.ASCII.GetBytes("PROF:DATA #42000").AsSpan(0, Math.Min(bytes.Length, 16)).CopyTo(bytes);
        }

        Note("garbage " + bytes.Length);
        _counts.GarbageBytes += bytes.Length;
        _bench.Link.Send(bytes);
        Wait(1 + (_random.NextDouble() * 4));
        _bench.Link.Receive();
    }

    private void BreakSwitch()
    {
        VirtualInput input = _random.Next(2) == 0 ? _bench.Home : _bench.End;
        bool hold = _random.Next(2) == 0;
        Note((input == _bench.Home ? "home " : "end ") + (hold ? "held" : "broken"));
        _counts.SwitchFaults++;
        // A switch that lies may move the controller's zero, or let the hinge be driven where none is seen.
        _slipped = true;
        input.IsHeld = hold;
        input.IsWireBroken = !hold;
        Wait(_random.NextDouble() * 20);

        input.IsHeld = false;
        input.IsWireBroken = false;
        Wait(0.1);
    }

    private void BreakCounter()
    {
        double[] lies = [0, 0.5, 0.9, 1.2, 2];
        double lie = lies[_random.Next(lies.Length)];
        Note("counter sees " + lie);
        _counts.CounterFaults++;

        // A motion that ends in the moment of the fault may be counted wrongly by a few pulses.
        _slipped = true;
        _bench.Motor.CountsPerPulse = lie;
        bool ran = _bench.Motor.TrainHertz > 0;
        Wait(3);
        Require(!ran || _bench.Motor.TrainHertz == 0, "tracks on with a counter that lies");
        _bench.Motor.CountsPerPulse = 1;
    }

    private void CutPower()
    {
        Note("power cut");
        _counts.PowerCuts++;
        if (_random.Next(2) == 0)
        {
            // In the middle of a write, if there is one.
            _bench.Flash.CutAfterBytes = _random.Next(0, 1500);
            _bench.Flash.PartialByte = (byte)_random.Next(256);
            Type(_random.Next(2) == 0 ? "SHUT:SAVE" : "CAL:CLOC 3");
        }

        _counts.Pulses += _bench.Motor.Pulses;
        _counts.Frames += _bench.Shutter.Count;
        _bench = Board(null, _bench.Flash.Copy(), _bench.Motor.Microsteps);
        _slipped = true;
        Require(!_bench.Shutter.IsOn && _bench.Controller.State == ControllerState.Idle, "woke up busy");
        Require(_bench.Controller.Profile != null, "the profile was lost in a power cut");
        bool atHome = _hasHome && _bench.Motor.Microsteps <= 0;
        Require(atHome || !_bench.Controller.IsPositionKnown || _bench.Motor.Microsteps == 0,
            "claims a position after a power cut");
        Wait(1);
    }

    private void Sag()
    {
        Note("sag");
        _counts.MotorFaults++;
        double until = _bench.Clock.TrueSec + 3;
        _bench.Pack.OpenCircuitVolts = t => t < until ? 4.0 : 5.1;
        Wait(6);
    }

    private void Wait(double seconds)
    {
        double until = _bench.Clock.TrueSec + seconds;
        while (_bench.Clock.TrueSec < until)
        {
            _bench.Pass(1 + (_random.NextDouble() * 19));
        }

        // What still waits in the line, or behind *WAI, may yet be executed.
        bool pending = _bench.Link.UnreadBytes > 0 || _bench.Machine.Instrument.Status.IsWaiting;
        _commandsInFlight = pending ? _commandsInFlight : 0;
    }

    // Everything repaired; the way home. Without a home switch a lost hinge is turned back by hand and declared.
    private void Dawn()
    {
        Note("dawn");
        _bench.Pack.OpenCircuitVolts = _ => 5.2;
        _bench.Link.Send("\n\n"u8);
        Wait(5);
        _commandsInFlight = int.MaxValue;
        if (!_bench.Controller.CanRewind)
        {
            _counts.Declared++;
            _bench.Controller.Abort();
            _bench.Motor.Microsteps = 0;
            Require(_bench.Controller.DeclarePosition(0) == null, "cannot be declared");
        }

        string? refusal = _bench.Controller.Rewind();
        if (refusal == Fault.Text(Fault.BothSwitches))
        {
            return;
        }

        Require(refusal == null, "refuses to rewind: " + refusal);
        double until = _bench.Clock.TrueSec + 600;
        while (_bench.Controller.State == ControllerState.Rewinding)
        {
            _bench.Pass(5);
            Require(_bench.Clock.TrueSec < until, "rewinds for ever");
        }

        Require(_bench.Controller.State == ControllerState.Idle && _bench.Controller.IsPositionKnown,
            "not idle after the rewind: " + Fault.Text(_bench.Controller.FaultReason));
        Require(_bench.Controller.Drive.Position == 0, "not at zero");
        Require(!_hasHome || Math.Abs(_bench.Motor.Microsteps) <= 1, $"zero is at {_bench.Motor.Microsteps}");
        _counts.Rewound++;
    }

    private void Check()
    {
        _counts.Passes++;
        Controller c = _bench.Controller;
        bool moved = _bench.Motor.Pulses != _pulsesBefore;
        _pulsesBefore = _bench.Motor.Pulses;
        Require(!moved || !_wasStill || c.IsMoving || _commandsInFlight > 0, "moved from rest without a command");
        Require(!c.IsMoving || !_wasStill || _commandsInFlight > 0,
            "set off without a command: " + ControllerState.Name(c.State));
        _wasStill = !c.IsMoving;
        Require(!_bench.Shutter.IsOn || c.State == ControllerState.Tracking,
            "shutter pressed in " + ControllerState.Name(c.State));
        // The virtual power cut is an exception, which the loop's guard catches; the board is dead by then.
        Require(c.FaultReason != Fault.Internal || c.FaultDetail == "power cut", "internal error: " + c.FaultDetail);
        if (c.State == ControllerState.Fault)
        {
            _counts.Faults++;
        }

        _counts.TrainPasses += _bench.Motor.TrainHertz > 0 ? 1 : 0;
        Require(c.IsMoving || _bench.Motor.TrainHertz == 0, "the train runs in " + ControllerState.Name(c.State));

        CheckPlace(c);
    }

    // No step past a healthy switch; a position called known on a night without slips is true.
    private void CheckPlace(Controller c)
    {
        long at = _bench.Motor.Microsteps;
        bool rewinding = c.State == ControllerState.Rewinding;

        // Behind a switch (it was broken when the hinge came by, or a fast rewind overran it by a pass) there is only
        // the way back.
        // A train may have made the pulses of one pass, its timer up to half a percent fast.
        double inPass = _lastHertz == 0 ? 0 : 1 + (1.005 * _lastHertz * (_bench.Clock.TrueUs - _lastUs) * 1e-6);
        Require(_bench.EndAt is not long end || _bench.End.IsWireBroken
            || at <= (_lastAt < end ? end + inPass : _lastAt), $"past the end switch: {at}");
        Require(_bench.HomeAt is not long home || _bench.Home.IsWireBroken
            || at >= Math.Min(home - (60 * _scale), _lastAt), $"past the home switch: {at}");
        _lastAt = at;
        _lastUs = _bench.Clock.TrueUs;
        _lastHertz = _bench.Motor.TrainHertz;
        if (!_slipped && c.IsPositionKnown && !rewinding)
        {
            long off = Math.Abs(c.Drive.Position - at);
            Require(off <= (_lastHertz > 0 ? 2 : 0), $"says {c.Drive.Position}, stands at {at}");
        }
    }

    private void Note(string what) =>
        _log.Add($"{_bench.Clock.TrueSec:0.0} {what} [{ControllerState.Name(_bench.Controller.State)}]");

    private void Require(bool good, string what)
    {
        if (!good)
        {
            throw new InvalidOperationException(
                $"{what} at {_bench.Clock.TrueSec:0.000} s; home {_hasHome}, end {_hasEnd}\n"
                + string.Join("\n", _log));
        }
    }
}
