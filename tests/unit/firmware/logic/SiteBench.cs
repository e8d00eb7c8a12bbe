// A stepper rig at the dark site: one button, one LED, a shutter, a pack, a serial terminal. No laptop program.

using System.Text;
using Hourhinge.Firmware;
using Hourhinge.Firmware.Control;
using Hourhinge.Firmware.Panel;
using Hourhinge.Firmware.Storage;
using Hourhinge.Rehearsal.Board;
using Hourhinge.Rehearsal.Dc;
using Hourhinge.SharedMath.Profile;

namespace Hourhinge.Tests.Firmware.Logic;

/// <summary>A finger on the button.</summary>
internal sealed class Finger : IGestureSource
{
    private readonly Queue<int> _gestures = new();

    public void Do(int gesture) => _gestures.Enqueue(gesture);

    public int Dequeue() => _gestures.TryDequeue(out int gesture) ? gesture : Gesture.None;
}

/// <summary>The virtual board with everything fitted.</summary>
internal sealed class SiteBench
{
    private readonly VirtualClock _clock = new(0, 2);

    public SiteBench(DriveProfile? profile, VirtualFlash? flash = null, long? homeAt = 0, long? endAt = null,
        long standsAt = 0, bool hasStepCounter = false)
    {
        Flash = flash ?? new VirtualFlash();
        Motor = new VirtualStepper(_clock) { Microsteps = standsAt };
        Pack = new VirtualPack(_clock);
        HomeAt = homeAt;
        EndAt = endAt;
        Home = new VirtualInput(() => Stands() <= HomeAt);
        End = new VirtualInput(() => Stands() >= EndAt);
        if (profile != null)
        {
            byte[] bytes = ProfileCodec.Encode(profile);
            var store = new ProfileStore(Flash);
            store.Load();
            Assert.True(store.Save(bytes, []), store.Error);
        }

        Machine = new Machine(new HardwareInterfaces
        {
            Clock = _clock,
            Step = Motor,
            StepCounter = hasStepCounter ? Motor : null,
            Home = Home,
            End = End,
            Supply = Pack,
            MinMillivolts = 4300,
            Button = Finger,
            Led = Led,
            Shutter = Shutter,
            KeepAliveLoad = Load,
            Storage = Flash,
            Link = Link,
        });
    }

    public VirtualClock Clock => _clock;

    public VirtualFlash Flash { get; }

    public VirtualStepper Motor { get; }

    public VirtualPack Pack { get; }

    public VirtualInput Home { get; }

    public VirtualInput End { get; }

    public long? HomeAt { get; set; }

    public long? EndAt { get; set; }

    public Finger Finger { get; } = new();

    public VirtualOutput Led { get; } = new();

    public VirtualOutput Shutter { get; } = new();

    public VirtualOutput Load { get; } = new();

    public ByteQueueLink Link { get; } = new();

    public Machine Machine { get; }

    public Controller Controller => Machine.Controller;

    /// <summary>Called after every pass.</summary>
    public Action? Watch { get; set; }

    public void Pass(double passMs)
    {
        double began = _clock.TrueUs;
        Machine.Update();
        Motor.UpdateRun();
        Watch?.Invoke();
        _clock.AdvanceTo(began + (passMs * 1000));
    }

    // Where a running pulse train has taken the motor by now.
    private long Stands()
    {
        Motor.UpdateRun();
        return Motor.Microsteps;
    }

    public void Run(double seconds, double passMs = 5)
    {
        double until = _clock.TrueSec + seconds;
        while (_clock.TrueSec < until)
        {
            Pass(passMs);
        }
    }

    public void RunUntil(Func<bool> done, double mostSec, double passMs = 5)
    {
        double until = _clock.TrueSec + mostSec;
        while (!done())
        {
            Assert.True(_clock.TrueSec < until, $"not within {mostSec} s; {ControllerState.Name(Controller.State)}");
            Pass(passMs);
        }
    }

    public void Gesture(int gesture)
    {
        Finger.Do(gesture);
        Pass(5);
        Pass(5);
    }

    /// <summary>Types a line and reads what comes back, in little virtual time.</summary>
    public string Ask(string line)
    {
        Link.Receive();
        Link.SendLine(line);
        var heard = new StringBuilder();
        for (int quiet = 0; quiet < 25; quiet++)
        {
            Pass(0.1);
            byte[] bytes = Link.Receive();
            heard.Append(Encoding.Latin1.GetString(bytes));
            quiet = bytes.Length > 0 || Link.UnreadBytes > 0 ? 0 : quiet;
        }

        return heard.ToString().TrimEnd('\n');
    }

    /// <summary>Types a command; the error that it left, number and text.</summary>
    public string Tell(string line) => Ask(line + "\nSYST:ERR?");
}
