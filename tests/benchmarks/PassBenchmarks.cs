// Time and allocation of one pass of the controller's loop on this computer, on the virtual board. The cost of a pass
// in instructions, which matters on the small runtime, is counted by tests/unit/firmware/logic/PassCostTests.cs.

using BenchmarkDotNet.Attributes;
using Hourhinge.Firmware;
using Hourhinge.Firmware.Control;
using Hourhinge.Firmware.Storage;
using Hourhinge.Rehearsal.Board;
using Hourhinge.SharedMath.Compile;
using Hourhinge.SharedMath.Profile;
using Hourhinge.SharedMath.Rig;

namespace Hourhinge.Benchmarks;

/// <summary>One pass while tracking; virtual time moves on by a millisecond a pass.</summary>
[MemoryDiagnoser]
public class PassBenchmarks
{
    private VirtualClock _clock = null!;
    private Machine _machine = null!;

    /// <summary>Tracks without end: at the end of the travel it starts again.</summary>
    [GlobalSetup]
    public void Start()
    {
        _clock = new VirtualClock();
        var rig = new RigParameters();
        rig.Values[RigParameters.Longest] = 250000000;
        var compiler = new RigCompiler();
        DriveProfile profile = compiler.Compile(rig, null) ?? throw new InvalidOperationException(compiler.Error);
        var flash = new VirtualFlash();
        byte[] bytes = ProfileCodec.Encode(profile);
        var store = new ProfileStore(flash);
        store.Load();
        store.Save(profile, bytes, 0, bytes.Length, []);
        _machine = new Machine(new HardwareInterfaces
        {
            Clock = _clock,
            Step = new VirtualStepper(_clock),
            Home = new VirtualInput(),
            End = new VirtualInput(),
            Storage = flash,
            Link = new ByteQueueLink(),
        });
        Restart();
    }

    /// <summary>The whole pass: motion, shutter, peer, button, LED.</summary>
    [Benchmark]
    public void FullPass()
    {
        _machine.Update();
        NextMillisecond();
    }

    /// <summary>The motion path alone: clock, profile, due position, step.</summary>
    [Benchmark]
    public void MotionOnly()
    {
        _machine.Controller.Update();
        NextMillisecond();
    }

    private void NextMillisecond()
    {
        _clock.AdvanceTo(_clock.TrueUs + 1000);
        if (_machine.Controller.State != ControllerState.Tracking)
        {
            Restart();
        }
    }

    private void Restart()
    {
        if ((_machine.Controller.DeclarePosition(0) ?? _machine.Controller.Start(false)) is { } refusal)
        {
            throw new InvalidOperationException(refusal);
        }
    }
}
