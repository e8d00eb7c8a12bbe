// A DC drive on the virtual board, for tests that break it.

using Hourhinge.Firmware;
using Hourhinge.Firmware.Control;
using Hourhinge.Firmware.Storage;
using Hourhinge.Rehearsal.Board;
using Hourhinge.Rehearsal.Dc;
using Hourhinge.SharedMath.Profile;

namespace Hourhinge.Tests.Firmware.Logic.Drives;

/// <summary>Motor, pack, switches and controller; the nut starts at the start of the travel.</summary>
internal sealed class DcBench
{
    public DcBench(DriveProfile profile, bool encoder = true, double travelTurns = 107)
    {
        Profile = profile;
        Pack = new VirtualPack(Clock);
        Motor = new VirtualDcMotor(Clock, Pack, DcFixture.Motor);
        Home = new VirtualInput(() => Motor.NutTurns <= HomeAtTurns);
        End = new VirtualInput(() => Motor.NutTurns >= EndAtTurns);
        EndAtTurns = travelTurns;
        var flash = new VirtualFlash();
        byte[] bytes = ProfileCodec.Encode(profile);
        var store = new ProfileStore(flash);
        store.Load();
        Assert.True(store.Save(bytes, []));
        Machine = new Machine(new HardwareInterfaces
        {
            Clock = Clock,
            Pwm = Motor,
            Encoder = encoder ? Motor : null,
            Supply = Pack,
            Home = Home,
            End = End,
            Storage = flash,
            Link = new ByteQueueLink(),
        });
    }

    public DriveProfile Profile { get; }

    public VirtualClock Clock { get; } = new();

    public VirtualPack Pack { get; }

    public VirtualDcMotor Motor { get; }

    public VirtualInput Home { get; }

    public VirtualInput End { get; }

    /// <summary>Where the home switch closes, nut turns.</summary>
    public double HomeAtTurns { get; set; }

    /// <summary>Where the end switch closes, nut turns.</summary>
    public double EndAtTurns { get; set; }

    public Machine Machine { get; }

    public Controller Controller => Machine.Controller;

    public void Run(double seconds, double passMs = 5)
    {
        double until = Clock.TrueSec + seconds;
        while (Clock.TrueSec < until)
        {
            Machine.Update();
            Clock.AdvanceTo(Clock.TrueUs + (passMs * 1000));
        }
    }

    public void RunUntilAtRest(double mostSec)
    {
        double until = Clock.TrueSec + mostSec;
        do
        {
            Run(0.02);
            Assert.True(Clock.TrueSec < until, "still moving: " + ControllerState.Name(Controller.State));
        }
        while (Controller.IsMoving);
    }

    public void Start()
    {
        Assert.Null(Controller.DeclarePosition(0));
        Assert.Null(Controller.Start(false));
    }
}
