// Hardware that throws, in the middle of a motion and again when it is to be switched off.

using Hourhinge.Firmware;
using Hourhinge.Firmware.Control;
using Hourhinge.Firmware.Guards;
using Hourhinge.Firmware.Hardware;
using Hourhinge.Firmware.Storage;
using Hourhinge.Rehearsal.Board;
using Hourhinge.SharedMath.Profile;
using Hourhinge.SharedMath.Rig;

namespace Hourhinge.Tests.Firmware.Logic;

public sealed class MachineTests
{
    [Theory]
    [InlineData(1)]
    [InlineData(2)]
    [InlineData(3)]
    [InlineData(10)]
    public void A_motor_that_fails_is_stopped_as_soon_as_it_can_be(int failures)
    {
        RigParameters rig = SiteRigs.Short();
        rig.Values[RigParameters.Release] = 1;
        byte[] bytes = ProfileCodec.Encode(SiteRigs.Compile(rig));
        var flash = new VirtualFlash();
        var store = new ProfileStore(flash);
        store.Load();
        Assert.True(store.Save(bytes, []));
        var clock = new VirtualClock();
        var step = new FailingStep();
        var machine = new Machine(new HardwareInterfaces
        {
            Clock = clock,
            Step = step,
            Home = new VirtualInput(() => step.Pulses == 0),
            End = new VirtualInput(() => false),
            Storage = flash,
            Link = new ByteQueueLink(),
        });
        Assert.Null(machine.Controller.Start(false));
        for (int i = 0; i < 1000; i++)
        {
            clock.AdvanceTo(clock.TrueUs + 1000);
            step.Failures = i == 500 ? failures : step.Failures;
            machine.Update();
        }

        Assert.True(step.Pulses > 0);
        Assert.Equal(Fault.Internal, machine.Controller.FaultReason);
        Assert.Equal(ControllerState.Fault, machine.Controller.State);
        Assert.Equal("the pin fails", machine.Controller.FaultDetail);
        Assert.False(step.IsEnabled);
    }

    private sealed class FailingStep : IStepOutput
    {
        public int Failures { get; set; }

        public int Pulses { get; private set; }

        public bool IsEnabled { get; private set; }

        public void SetEnabled(bool on)
        {
            Fail();
            IsEnabled = on;
        }

        public void SetDirection(bool forward)
        {
        }

        public void Pulse()
        {
            Fail();
            Pulses++;
        }

        public void RunAtHertz(int stepsPerSec) => Fail();

        private void Fail()
        {
            if (Failures > 0)
            {
                Failures--;
                throw new InvalidOperationException("the pin fails");
            }
        }
    }
}
