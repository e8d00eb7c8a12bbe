using System.Text;
using Hourhinge.Firmware.Control;
using Hourhinge.Firmware.Scpi;

namespace Hourhinge.Tests.Firmware.Logic.Scpi;

/// <summary>A legitimate sender that stalls in mid-block, and CAN as the device clear of IEEE 488.2, 5.8.</summary>
public sealed class StallTests
{
    private const string RigText = "name = \"a\"\nINIT\nREW\n*RST\nMOT:JOG 40\n\u0018\nINIT\n";

    [Fact]
    public void The_rest_of_a_block_that_stalled_is_never_executed()
    {
        byte[] message = Bench.Command("RIG:DATA ", Encoding.ASCII.GetBytes(RigText + RigText));
        for (int sent = "RIG:DATA #2".Length; sent < message.Length - 1; sent += 4)
        {
            Bench bench = Bench.WithProfile();
            long units = bench.Machine.Instrument.UnitsExecuted;
            bench.TellBytes(message[..sent]);
            bench.Run(0.6);
            bench.TellBytes(message[sent..]);
            bench.Run(0.2);
            bench.Tell("INIT"); // No pause yet: it may still be data.
            Assert.Equal(ControllerState.Idle, bench.Controller.State);
            Assert.Equal(units, bench.Machine.Instrument.UnitsExecuted);
            bench.Run(0.6);
            Assert.Equal(ScpiErrors.InvalidBlock, bench.NextError());
            bench.AssertNoError();
            bench.Tell("INIT");
            Assert.Equal(ControllerState.Tracking, bench.Controller.State);
        }
    }

    [Fact]
    public void Abort_among_the_rest_is_obeyed()
    {
        Bench bench = Bench.WithProfile();
        bench.Tell("INIT");
        bench.TellBytes(Encoding.ASCII.GetBytes("RIG:DATA #3100abc\n"));
        bench.Run(0.6);
        bench.TellBytes(Encoding.ASCII.GetBytes("def\nABOR\n"));
        Assert.Equal(ControllerState.Idle, bench.Controller.State);
    }

    [Fact]
    public void Can_forgets_what_is_held_and_its_answers()
    {
        Bench bench = Jogging();
        bench.Tell("*OPC?;*IDN?");
        bench.Tell("MOT:POS?");
        Assert.Empty(bench.Link.Receive());
        Assert.Equal("JOGGING", bench.Ask("\u0018MOT:STAT?"));
        Assert.Equal("IDLE", bench.Ask("ABOR;:MOT:STAT?"));
        bench.AssertNoError();
    }

    [Fact]
    public void Can_does_not_take_back_an_abort()
    {
        Bench bench = Jogging();
        bench.Tell("*WAI");
        bench.TellBytes(Encoding.ASCII.GetBytes("ABOR\n\u0018"));
        Assert.Equal(ControllerState.Idle, bench.Controller.State);
        bench.Controller.Jog(-100);
        bench.TellBytes(Encoding.ASCII.GetBytes("ABOR\n\u0018"));
        Assert.Equal(ControllerState.Idle, bench.Controller.State);
    }

    private static Bench Jogging()
    {
        Bench bench = Bench.WithProfile();
        Assert.Null(bench.Controller.Jog(1200));
        bench.PassMs = 0.1;
        return bench;
    }
}
