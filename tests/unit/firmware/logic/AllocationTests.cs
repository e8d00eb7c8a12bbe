// The motion path allocates nothing: a garbage collection in mid-exposure would be a pause that nobody asked for.

using Hourhinge.Firmware;
using Hourhinge.Firmware.Control;
using Hourhinge.Firmware.Panel;
using Hourhinge.Firmware.Storage;
using Hourhinge.Rehearsal.Board;
using Hourhinge.SharedMath.Profile;
using Hourhinge.Tests.Firmware.Logic.Drives;
using Xunit.Abstractions;

namespace Hourhinge.Tests.Firmware.Logic;

public sealed class AllocationTests(ITestOutputHelper output)
{
    [Fact]
    public void A_stepper_pass_allocates_nothing_with_shutter_and_light_at_work()
    {
        SiteBench bench = new(SiteRigs.Compile(SiteRigs.Short(60)));
        bench.Tell("SHUT:COUN 500;EXP 1;GAP 0.5;SETT 0.2;DITH 3;AUTO 1");
        bench.Tell("SUPP:KEEP 0.5,2");
        bench.Gesture(Gesture.Press);
        Assert.Equal(0, AllocatedBy(() => bench.Pass(2), 20000));
        Assert.Equal(ControllerState.Tracking, bench.Controller.State);
        Assert.True(bench.Shutter.Count > 10);
    }

    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public void A_dc_pass_allocates_nothing(bool closedLoop)
    {
        DcBench bench = new(closedLoop ? DcFixture.ClosedLoop() : DcFixture.OpenLoop(), closedLoop);
        bench.Start();
        Assert.Equal(0, AllocatedBy(
            () =>
            {
                bench.Machine.Update();
                bench.Clock.AdvanceTo(bench.Clock.TrueUs + 2000);
            },
            20000));
        Assert.Equal(ControllerState.Tracking, bench.Controller.State);
    }

    [Fact]
    public void A_rewind_allocates_nothing()
    {
        SiteBench bench = new(SiteRigs.Compile(SiteRigs.Short(60)), null, 0, null, 20000);
        Assert.Null(bench.Controller.Rewind());
        Assert.Equal(0, AllocatedBy(() => bench.Pass(2), 500, 200));
        Assert.Equal(ControllerState.Rewinding, bench.Controller.State);
    }

    [Fact]
    public void The_heap_of_the_whole_logic()
    {
        DriveProfile profile = SiteRigs.Compile(SiteRigs.Short(60));
        _ = new SiteBench(profile);
        var flash = new VirtualFlash();
        byte[] bytes = ProfileCodec.Encode(profile);
        var store = new ProfileStore(flash);
        store.Load();
        store.Save(bytes, []);
        var hardware = new HardwareInterfaces
        {
            Clock = new VirtualClock(),
            Step = new VirtualStepper(new VirtualClock()),
            Home = new VirtualInput(),
            End = new VirtualInput(),
            Storage = flash,
            Link = new ByteQueueLink(),
        };
        long before = GC.GetAllocatedBytesForCurrentThread();
        var machine = new Machine(hardware);
        long made = GC.GetAllocatedBytesForCurrentThread() - before;
        output.WriteLine(
            $"building the logic and loading a profile of {bytes.Length} bytes allocates {made} bytes on a 64-bit "
            + ".NET; 4352 + 8192 of it are the fixed buffers of messages and answers");
        Assert.InRange(made, 10000, 40000);
        GC.KeepAlive(machine);
    }

    private static long AllocatedBy(Action pass, int passes, int warmUp = 2000)
    {
        for (int i = 0; i < warmUp; i++)
        {
            pass();
        }

        // The best of three: a recompilation of the pass by the desktop's runtime allocates once, the pass itself
        // always.
        long least = long.MaxValue;
        for (int round = 0; round < 3; round++)
        {
            long before = GC.GetAllocatedBytesForCurrentThread();
            for (int i = 0; i < passes / 3; i++)
            {
                pass();
            }

            least = Math.Min(least, GC.GetAllocatedBytesForCurrentThread() - before);
        }

        return least;
    }
}
