using Hourhinge.Firmware.Control;
using Hourhinge.Firmware.Guards;
using Hourhinge.Firmware.Scpi;
using Hourhinge.Tests.SharedMath.Compile;

namespace Hourhinge.Tests.Firmware.Logic.Protocol;

/// <summary>Status reporting of IEEE 488.2 chapter 11 and SCPI-1999 volume 1 chapters 4 and 9.</summary>
public class ScpiStatusTests
{
    [Fact]
    public void Identity_has_four_fields_and_version_is_1999()
    {
        Bench bench = new();
        Assert.Equal(4, bench.Ask("*IDN?").Split(',').Length);
        Assert.Equal("1999.0", bench.Ask("SYST:VERS?"));
        Assert.Equal("0", bench.Ask("*TST?"));
    }

    [Fact]
    public void Power_on_sets_bit_seven_of_the_event_register_and_reading_clears_it()
    {
        Bench bench = new();
        Assert.Equal("128", bench.Ask("*ESR?"));
        Assert.Equal("0", bench.Ask("*ESR?"));
    }

    // IEEE 488.2, 11.5.1.1: command error 32, execution error 16, device-dependent error 8.
    [Theory]
    [InlineData("FOO", 32)]
    [InlineData("*ESE 999", 16)]
    [InlineData("*ESE", 32)]
    [InlineData("INIT:RES", 16)]
    [InlineData("*OPC", 1)]
    public void An_error_sets_the_bit_of_its_class(string line, int bit)
    {
        Bench bench = Bench.WithProfile();
        bench.Ask("*ESR?");
        bench.Tell(line);
        Assert.Equal(bit.ToString(), bench.Ask("*ESR?"));
    }

    [Fact]
    public void Errors_found_while_bytes_are_gathered_set_their_bits_too()
    {
        Bench bench = Bench.WithProfile();
        bench.Ask("*ESR?");
        bench.Tell("PROF:DATA #2x5");
        bench.Run(0.6);
        Assert.Equal("32", bench.Ask("*ESR?"));
        bench.Tell(new string('A', ScpiReceiver.Capacity + 1));
        Assert.Equal("8", bench.Ask("*ESR?"));
    }

    [Fact]
    public void An_error_that_overflows_the_queue_still_sets_its_bit_and_that_of_minus_350()
    {
        Bench bench = Bench.WithProfile();
        for (int i = 0; i < 16; i++)
        {
            bench.Tell("FOO");
        }

        bench.Ask("*ESR?");
        bench.Tell("*ESE 999");
        Assert.Equal((16 + 8).ToString(), bench.Ask("*ESR?"));
    }

    // IEEE 488.2, 11.2: ESB is bit 5, MSS bit 6; SCPI: error queue bit 2, QUEStionable 3, OPERation 7.
    [Fact]
    public void Status_byte_sums_up_what_the_masks_let_through()
    {
        Bench bench = Bench.WithProfile();
        bench.Tell("*CLS;*ESE 0;*SRE 0");
        Assert.Equal("0", bench.Ask("*STB?"));
        bench.Tell("FOO");
        Assert.Equal("4", bench.Ask("*STB?"));
        bench.Tell("*ESE 32");
        Assert.Equal("36", bench.Ask("*STB?"));
        bench.Tell("*SRE 32");
        Assert.Equal("100", bench.Ask("*STB?"));
        bench.Tell("*CLS");
        Assert.Equal("0", bench.Ask("*STB?"));
        bench.Tell("STAT:OPER:ENAB 256;:INIT");
        Assert.Equal("128", bench.Ask("*STB?"));
        Assert.Equal("256", bench.Ask("STAT:OPER?"));
        Assert.Equal("0", bench.Ask("STAT:OPER:EVEN?"));
        Assert.Equal("256", bench.Ask("STAT:OPER:COND?"));
        Assert.Equal("0", bench.Ask("*STB?"));
    }

    [Fact]
    public void Message_available_is_set_while_an_answer_of_the_same_message_waits() =>
        Assert.Equal("IDLE;16", Bench.WithProfile().Ask("MOT:STAT?;*STB?"));

    [Fact]
    public void Questionable_tells_unknown_position_and_missing_profile()
    {
        Bench bench = new();
        Assert.Equal((512 + 1024).ToString(), bench.Ask("STAT:QUES:COND?"));
        bench.Upload(SampleDesigns.Compile(SampleDesigns.Bench()));
        Assert.Equal("512", bench.Ask("STAT:QUES:COND?"));
        Assert.Equal("9.91E37", bench.Ask("MOT:POS?"));
        Assert.Equal("9.91E37", bench.Ask("MOT:DUE?"));
        bench.Tell("MOT:POS:DECL 12");
        Assert.Equal("0", bench.Ask("STAT:QUES:COND?"));
        Assert.Equal("12", bench.Ask("MOT:POS?"));
        bench.Controller.Fail(Fault.Stall, null);
        Assert.Equal((512 + 2048).ToString(), bench.Ask("STAT:QUES:COND?"));
        Assert.StartsWith("4,\"the motor does not move", bench.Ask("MOT:FAUL?"), StringComparison.Ordinal);
        Assert.Equal("1", bench.Ask("*TST?"));
    }

    [Fact]
    public void Preset_clears_the_enable_masks_only()
    {
        Bench bench = new();
        bench.Tell("STAT:OPER:ENAB 3;:STAT:QUES:ENAB 5;:*ESE 7");
        bench.Tell("*ESE 7");
        bench.Tell("STAT:PRES");
        Assert.Equal("0;0", bench.Ask("STAT:OPER:ENAB?;:STAT:QUES:ENAB?"));
        Assert.Equal("7", bench.Ask("*ESE?"));
    }

    // IEEE 488.2, 12.5.3: the 1 is an answer in its turn, when nothing is pending.
    [Fact]
    public void Operation_complete_waits_for_the_rewind()
    {
        Bench bench = Rewinding();
        bench.Ask("*ESR?");
        bench.Tell("*OPC");
        Assert.Equal("0", bench.Ask("*ESR?"));
        Assert.Equal("REWINDING", bench.Ask("MOT:STAT?;*OPC?;:MOT:STAT?"));
        bench.RunUntil(() => !bench.Controller.IsMoving, 300);
        bench.Pass(5);
        Assert.Equal(";1;IDLE\n", System.Text.Encoding.ASCII.GetString(bench.Link.Receive()));
        Assert.Equal("1", bench.Ask("*ESR?"));
        Assert.Equal("1", bench.Ask("*OPC?"));
    }

    [Fact]
    public void Wait_holds_back_what_follows_until_the_rewind_is_over()
    {
        Bench bench = Rewinding();
        Assert.Equal(string.Empty, bench.Ask("*WAI;:MOT:STAT?;POS?"));
        Assert.Equal("REWINDING", ControllerState.Name(bench.Controller.State));
        bench.RunUntil(() => !bench.Controller.IsMoving, 300);
        bench.Pass(10);
        Assert.Equal("IDLE;0\n", System.Text.Encoding.ASCII.GetString(bench.Link.Receive()));
    }

    [Theory]
    [InlineData("*WAI;:INIT")]
    [InlineData("*OPC?;:INIT\nMOT:STAT?\n*IDN?")]
    public void Abort_is_never_held_back_and_what_was_held_starts_nothing(string held)
    {
        Bench bench = Rewinding();
        bench.Tell(held);
        Assert.Equal(ControllerState.Rewinding, bench.Controller.State);
        bench.Link.SendLine("ABOR");
        bench.Pass(2);
        Assert.False(bench.Controller.IsMoving);
        for (int i = 0; i < 100; i++)
        {
            bench.Pass();
            Assert.False(bench.Controller.IsMoving);
        }
    }

    [Fact]
    public void What_wait_holds_is_forgotten_with_its_connection()
    {
        Bench bench = Rewinding();
        bench.Tell("*OPC?");
        bench.Tell("*WAI;:INIT");
        bench.Link.Connect();
        bench.RunUntil(() => !bench.Controller.IsMoving, 300);
        bench.Run(2);
        Assert.Equal(ControllerState.Idle, bench.Controller.State);
        Assert.Empty(bench.Link.Receive());
    }

    [Theory]
    [InlineData("*CLS")]
    [InlineData("*RST")]
    public void Clear_and_reset_forget_a_pending_operation_complete(string line)
    {
        Bench bench = Rewinding();
        bench.Tell("*OPC");
        bench.Tell(line);
        bench.Run(60);
        Assert.Equal("0", (int.Parse(bench.Ask("*ESR?")) & 1).ToString());
    }

    [Fact]
    public void A_peer_that_does_not_read_loses_answers_and_its_commands_go_on()
    {
        Bench bench = Bench.WithProfile();
        bench.Link.PeerBufferBytes = 0;
        for (int i = 0; i < 6; i++)
        {
            bench.Link.SendLine("SYST:HELP:HEAD?");
        }

        bench.Link.SendLine("INIT");
        bench.Run(2);
        Assert.Equal(ControllerState.Tracking, bench.Controller.State);
        bench.Link.SendLine("SYST:HELP:HEAD?");
        bench.Link.SendLine("ABOR");
        bench.Pass(5);
        Assert.Equal(ControllerState.Idle, bench.Controller.State);
        bench.Link.PeerBufferBytes = 65536;
        bench.Run(1);
        bench.Link.Receive();
        Assert.StartsWith("-350,", bench.Ask("SYST:ERR?"), StringComparison.Ordinal);
    }

    [Fact]
    public void Reset_stops_the_motion_and_keeps_the_profile()
    {
        Bench bench = Bench.WithProfile();
        bench.Tell("INIT");
        bench.Run(2);
        bench.Tell("*RST");
        Assert.Equal("IDLE", bench.Ask("MOT:STAT?"));
        Assert.Equal("\"bench rig\"", bench.Ask("PROF:NAME?"));
    }

    [Fact]
    public void A_peer_that_does_not_read_loses_answers_but_never_stops_the_sky()
    {
        Bench bench = Bench.WithProfile();
        bench.Tell("INIT");
        bench.Link.PeerBufferBytes = 0;
        for (int i = 0; i < 3000; i++)
        {
            bench.Link.SendLine("*IDN?");
        }

        bench.Run(60);
        Assert.Equal("TRACKING", ControllerState.Name(bench.Controller.State));
        Assert.InRange(bench.Controller.CountsDue - bench.Controller.Drive.Position, 0, 1);
        Assert.True(bench.Controller.Drive.Position > 40);
    }

    // A bench that is on its way back from the end of its travel.
    private static Bench Rewinding()
    {
        Bench bench = Bench.WithProfile();
        bench.Motor.Microsteps = 600;
        bench.Tell("MOT:POS:DECL 600");
        bench.Tell("REW");
        Assert.Equal("REWINDING", bench.Ask("MOT:STAT?"));
        return bench;
    }
}
