using System.Text;
using Hourhinge.Firmware.Scpi;
using Hourhinge.SharedMath.Profile;
using Hourhinge.Tests.SharedMath.Compile;

namespace Hourhinge.Tests.Firmware.Logic.Scpi;

/// <summary>Syntax of IEEE 488.2 chapter 7 and SCPI-1999 volume 1 chapter 6; error numbers of volume 2, 21.8.</summary>
public class ScpiSyntaxTests
{
    [Theory]
    [InlineData("MOT:STAT?")]
    [InlineData("MOTION:STATE?")]
    [InlineData("motion:stat?")]
    [InlineData(":mOt:StAtE?")]
    [InlineData("  MOT:STAT?  ")]
    [InlineData("MOT:STAT?\r")]
    [InlineData("MOT:STAT?;")]
    public void Short_and_long_forms_in_any_case_are_the_same_header(string line) =>
        Assert.Equal("IDLE", Bench.WithProfile().Ask(line));

    [Theory]
    [InlineData("MOTI:STAT?")]
    [InlineData("MOT:STATES?")]
    [InlineData("MO:STAT?")]
    [InlineData("MOT:STAT")]
    [InlineData("MOT?")]
    [InlineData("MOT:STAT:X?")]
    [InlineData("MOT::STAT?")]
    [InlineData("MOT:STAT:?")]
    [InlineData("STAT?")]
    [InlineData("REW?")]
    [InlineData("*FOO")]
    [InlineData("MOT:*IDN?")]
    public void Anything_between_short_and_long_form_is_an_undefined_header(string line) =>
        AssertRefused(line, ScpiErrors.UndefinedHeader);

    [Theory]
    [InlineData("*ESE", ScpiErrors.MissingParameter)]
    [InlineData("*ESE 1,2", ScpiErrors.ParameterNotAllowed)]
    [InlineData("*CLS 1", ScpiErrors.ParameterNotAllowed)]
    [InlineData("MOT:STAT? 1", ScpiErrors.ParameterNotAllowed)]
    [InlineData("REW 1", ScpiErrors.ParameterNotAllowed)]
    [InlineData("*ESE 256", ScpiErrors.OutOfRange)]
    [InlineData("*ESE -1", ScpiErrors.OutOfRange)]
    [InlineData("*ESE 1E40", ScpiErrors.OutOfRange)]
    [InlineData("*ESE abc", ScpiErrors.DataType)]
    [InlineData("*ESE \"1\"", ScpiErrors.DataType)]
    [InlineData("*ESE #11x", ScpiErrors.DataType)]
    [InlineData("*ESE 1x", ScpiErrors.SuffixNotAllowed)]
    [InlineData("*ESE 1+1", ScpiErrors.InvalidNumber)]
    [InlineData("*ESE 1.2.3", ScpiErrors.InvalidNumber)]
    [InlineData("*ESE 1 ppm", ScpiErrors.SuffixNotAllowed)]
    [InlineData("*ESE\"1\"", ScpiErrors.HeaderSeparator)]
    [InlineData("MOT:STAT?1", ScpiErrors.HeaderSeparator)]
    [InlineData("SETUP&", ScpiErrors.InvalidCharacter)]
    [InlineData("&SETUP", ScpiErrors.InvalidCharacter)]
    [InlineData("MOT:STAT\u00e9?", ScpiErrors.InvalidCharacter)]
    [InlineData("ABCDEFGHIJKLM", ScpiErrors.MnemonicTooLong)]
    [InlineData("ABCDEFGHIJKL", ScpiErrors.UndefinedHeader)]
    [InlineData("?", ScpiErrors.InvalidCharacter)]
    [InlineData(";", ScpiErrors.Syntax)]
    [InlineData("PROF:DATA 5", ScpiErrors.DataType)]
    [InlineData("PROF:DATA", ScpiErrors.MissingParameter)]
    [InlineData("PROF:DATA #0abc", ScpiErrors.InvalidBlock)]
    [InlineData("PROF:DATA #", ScpiErrors.InvalidBlock)]
    [InlineData("PROF:DATA #2x5abc", ScpiErrors.InvalidBlock)]
    [InlineData("CAL:CLOC 10000.1", ScpiErrors.OutOfRange)]
    [InlineData("CAL:CLOC 1,2", ScpiErrors.ParameterNotAllowed)]
    [InlineData("MOT:JOG 1e9", ScpiErrors.OutOfRange)]
    [InlineData("MOT:JOG 1000000", ScpiErrors.SettingsConflict)]
    [InlineData("MOT:POS:DECL 999999999", ScpiErrors.SettingsConflict)]
    [InlineData("INIT:RES", ScpiErrors.SettingsConflict)]
    [InlineData("PROF:DATA #13abc", ScpiErrors.IllegalValue)]
    public void A_mistake_gets_the_number_of_the_standard(string line, int number)
    {
        Bench bench = Bench.WithProfile();
        bench.Tell(line);
        bench.Run(0.6); // The rest of a damaged block is not taken for commands until the sender pauses.
        Assert.Equal(number, bench.NextError());
        bench.AssertNoError();
        Assert.Equal("IDLE", bench.Ask("MOT:STAT?"));
        Assert.Equal(0, bench.Motor.Pulses);
    }

    [Theory]
    [InlineData("INIT")]
    [InlineData("REW")]
    [InlineData("MOT:JOG 1")]
    [InlineData("MOT:POS:DECL 0")]
    [InlineData("PROF:DATA?")]
    [InlineData("RIG:DATA?")]
    [InlineData("PROF:CRC?")]
    [InlineData("PROF:NAME?")]
    [InlineData("CAL:CLOC 1")]
    [InlineData("CAL:CLOC?")]
    public void Without_a_profile_everything_that_needs_one_is_a_settings_conflict(string line)
    {
        Bench bench = new();
        Assert.Equal(string.Empty, bench.Ask(line));
        Assert.StartsWith("-221,\"Settings conflict;no profile", bench.Ask("SYST:ERR?"), StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("MOT:STAT?;POS?", "IDLE;0")]
    [InlineData("MOT:STAT?;:MOT:POS?", "IDLE;0")]
    [InlineData("SYST:ERR:NEXT?;COUN?", "0,\"No error\";0")]
    [InlineData("MOT:STAT?;*ESE 5;POS?", "IDLE;0")]
    [InlineData("MOT:STAT?;*ESE?;POS?", "IDLE;0;0")]
    [InlineData("*ESE 3;*ESE?;MOT:POS?;STAT?", "3;0;IDLE")]
    [InlineData("MOT:POS:DECL 7;DECL 9;:MOT:POS?", "9")]
    public void A_path_holds_until_a_colon_and_common_commands_leave_it_alone(string line, string answer)
    {
        Bench bench = Bench.WithProfile();
        Assert.Equal(answer, bench.Ask(line));
        bench.AssertNoError();
    }

    [Fact]
    public void A_new_message_starts_at_the_root()
    {
        Bench bench = Bench.WithProfile();
        bench.Ask("MOT:STAT?");
        Assert.Equal(string.Empty, bench.Ask("POS?"));
        Assert.Equal(ScpiErrors.UndefinedHeader, bench.NextError());
    }

    [Fact]
    public void After_an_error_the_rest_of_the_message_is_not_executed()
    {
        Bench bench = Bench.WithProfile();
        Assert.Equal("IDLE", bench.Ask("MOT:STAT?;FOO;:INIT;:MOT:STAT?"));
        Assert.Equal("IDLE", bench.Ask("MOT:STAT?"));
        Assert.Equal(ScpiErrors.UndefinedHeader, bench.NextError());
        bench.AssertNoError();
    }

    [Fact]
    public void Newlines_quotes_and_semicolons_inside_a_block_are_data()
    {
        Bench bench = Bench.WithProfile();
        byte[] rig = Encoding.ASCII.GetBytes("name = \"x\"\nINIT\n;:INIT;#15'\n");
        DriveProfile profile = SampleDesigns.Compile(SampleDesigns.Bench());
        profile.RigDigest = Crc32.Of(rig, 0, rig.Length);
        bench.TellBytes(Bench.Command("RIG:DATA ", rig));
        bench.Upload(profile);
        bench.AssertNoError();
        Assert.Equal($"#2{rig.Length}{Encoding.ASCII.GetString(rig)}", bench.Ask("RIG:DATA?"));
        Assert.Equal("IDLE", bench.Ask("MOT:STAT?"));
    }

    [Fact]
    public void A_block_may_be_followed_by_another_unit()
    {
        Bench bench = Bench.WithProfile();
        byte[] command = Bench.Command("RIG:DATA ", [1, (byte)'\n', 3]);
        bench.TellBytes([.. command[..^1], .. Encoding.ASCII.GetBytes(";:MOT:STAT?\n")]);
        Assert.Equal("IDLE\n", Encoding.ASCII.GetString(bench.Link.Receive())[^5..]);
        bench.AssertNoError();
    }

    [Fact]
    public void The_bytes_of_a_block_that_is_too_large_are_not_taken_for_commands()
    {
        Bench bench = Bench.WithProfile();
        byte[] block = Encoding.ASCII.GetBytes(string.Concat(Enumerable.Repeat("\nINIT\n", 1000)));
        bench.TellBytes(Bench.Command("RIG:DATA ", block));
        Assert.Equal("IDLE", bench.Ask("MOT:STAT?"));
        Assert.Equal(ScpiErrors.TooMuchData, bench.NextError());
        bench.AssertNoError();
    }

    [Fact]
    public void A_rig_file_of_4097_bytes_is_too_much_data()
    {
        Bench bench = Bench.WithProfile();
        bench.TellBytes(Bench.Command("RIG:DATA ", new byte[4096]));
        bench.AssertNoError();
        bench.TellBytes(Bench.Command("RIG:DATA ", new byte[4097]));
        Assert.Equal(ScpiErrors.TooMuchData, bench.NextError());
    }

    [Fact]
    public void A_line_longer_than_the_buffer_is_an_overrun_and_the_next_line_works()
    {
        Bench bench = Bench.WithProfile();
        bench.Tell(new string('A', ScpiReceiver.Capacity + 10));
        Assert.Equal(ScpiErrors.InputOverrun, bench.NextError());
        Assert.Equal("IDLE", bench.Ask("MOT:STAT?"));
    }

    [Fact]
    public void A_sender_that_hangs_up_in_mid_block_leaves_everything_as_it_was()
    {
        Bench bench = Bench.WithProfile();
        string crc = bench.Ask("PROF:CRC?");
        byte[] command =
            Bench.Command("PROF:DATA ", ProfileCodec.Encode(SampleDesigns.Compile(SampleDesigns.Bench(30))));
        for (int sent = 11; sent < command.Length - 2; sent += 17)
        {
            bench.TellBytes(command[..sent]);
            bench.Run(sent > 11 ? 0.6 : 3.1);
            bench.Tell(""); // The rest of the block might still come.
            bench.Run(0.6);
            Assert.Equal(sent > 11 ? ScpiErrors.InvalidBlock : ScpiErrors.Syntax, bench.NextError());
            Assert.Equal(crc, bench.Ask("PROF:CRC?"));
        }

        bench.TellBytes(command);
        bench.AssertNoError();
        Assert.NotEqual(crc, bench.Ask("PROF:CRC?"));
    }

    // Twenty bytes in twenty seconds kept a block alive and swallowed each ABORt among them.
    [Fact]
    public void Abort_is_heard_after_a_hang_up_in_mid_block_and_after_half_a_line()
    {
        foreach (string left in new[] { "PROF:DATA #41000abc", "INIT", "RIG:THR \"M6", "RIG:THR \"M6\nREW\n",
            "PROF:DATA #0", "#" })
        {
            Bench bench = Bench.WithProfile();
            bench.Tell("INIT");
            bench.Link.Send(Encoding.ASCII.GetBytes(left));
            bench.Run(0.6);
            bench.Link.Send("ABOR\n"u8);
            bench.Pass(3);
            Assert.False(bench.Controller.IsMoving, left);
        }
    }

    [Fact]
    public void A_block_that_trickles_in_has_a_deadline()
    {
        Bench bench = Bench.WithProfile();
        bench.Link.Send(Encoding.ASCII.GetBytes("RIG:DATA #3100"));
        for (int i = 0; i < 20; i++)
        {
            bench.Run(0.3);
            bench.Link.Send("x"u8);
        }

        bench.Run(0.6);
        bench.Tell("");
        bench.Run(0.6);
        Assert.Equal(ScpiErrors.InvalidBlock, bench.NextError());
        bench.AssertNoError();
    }

    [Theory]
    [InlineData("INIT", "\n")]
    [InlineData("INI", "T\n")]
    [InlineData("REW;", "\n")]
    public void Half_a_line_of_a_lost_peer_is_never_executed(string left, string next)
    {
        Bench bench = Bench.WithProfile();
        bench.TellBytes(Encoding.ASCII.GetBytes(left));
        bench.Link.Connect();
        bench.TellBytes(Encoding.ASCII.GetBytes(next));
        Assert.False(bench.Controller.IsMoving);
        bench.TellBytes(Encoding.ASCII.GetBytes(left));
        bench.Run(3.1);
        bench.TellBytes(Encoding.ASCII.GetBytes(next));
        Assert.False(bench.Controller.IsMoving);
        bench.TellBytes(Encoding.ASCII.GetBytes(left + "\u0018\n"));
        Assert.False(bench.Controller.IsMoving);
        Assert.Equal(0, bench.Motor.Pulses);
    }

    [Fact]
    public void The_queue_overflows_into_minus_350_and_keeps_the_oldest()
    {
        Bench bench = Bench.WithProfile();
        for (int i = 0; i < 20; i++)
        {
            bench.Tell(i == 0 ? "*ESE" : "FOO");
        }

        Assert.Equal("16", bench.Ask("SYST:ERR:COUN?"));
        Assert.Equal(ScpiErrors.MissingParameter, bench.NextError());
        for (int i = 0; i < 14; i++)
        {
            Assert.Equal(ScpiErrors.UndefinedHeader, bench.NextError());
        }

        Assert.Equal("-350,\"Queue overflow\"", bench.Ask("SYST:ERR?"));
        bench.AssertNoError();
    }

    [Fact]
    public void An_error_names_what_was_wrong_and_its_text_cannot_break_the_string()
    {
        Bench bench = Bench.WithProfile();
        bench.Tell("*ESE 300");
        Assert.Equal("-222,\"Data out of range;mask must be 0 to 255\"", bench.Ask("SYST:ERR?"));
        bench.Tell("ABORT:NOW?");
        Assert.Equal("-113,\"Undefined header;ABORT:NOW?\"", bench.Ask("SYST:ERR?"));
    }

    [Fact]
    public void What_a_peer_sent_makes_an_error_neither_long_nor_two_lines()
    {
        Bench bench = Bench.WithProfile();
        bench.Tell("RIG:FORM \"a\nINIT\"");
        Assert.StartsWith("-224,\"Illegal parameter value;a INIT: known are ", bench.Ask("SYST:ERR?"),
            StringComparison.Ordinal);
        bench.Tell("RIG:FORM " + new string('X', 4000));
        string error = bench.Ask("SYST:ERR?");
        Assert.Equal("-224,\"\"".Length + 255, error.Length);
        Assert.Equal('"', error[^1]);
    }

    [Fact]
    public void A_quotation_mark_in_a_rig_s_name_does_not_end_the_answer()
    {
        Bench bench = Bench.WithProfile(SampleDesigns.Compile(SampleDesigns.Bench(), SampleDesigns.Blank("12\" rod")));
        Assert.Equal("\"12' rod\"", bench.Ask("PROF:NAME?"));
    }

    [Fact]
    public void A_mistyped_query_of_the_error_queue_loses_no_error()
    {
        Bench bench = Bench.WithProfile();
        bench.Tell("NO:SUCH");
        Assert.Equal(string.Empty, bench.Ask("SYST:ERR? 1"));
        Assert.Equal(string.Empty, bench.Ask("*ESR? 1"));
        Assert.Equal(ScpiErrors.UndefinedHeader, bench.NextError());
        Assert.Equal(ScpiErrors.ParameterNotAllowed, bench.NextError());
        Assert.Equal(ScpiErrors.ParameterNotAllowed, bench.NextError());
        Assert.NotEqual("0", bench.Ask("*ESR?"));
    }

    [Fact]
    public void A_reset_with_a_parameter_is_not_executed_but_a_stop_is()
    {
        Bench bench = Bench.WithProfile();
        bench.Tell("INIT");
        bench.Tell("*RST 1");
        Assert.Equal(ScpiErrors.ParameterNotAllowed, bench.NextError());
        Assert.Equal("TRACKING", bench.Ask("MOT:STAT?"));
        bench.Tell("ABORT NOW");
        Assert.Equal(ScpiErrors.ParameterNotAllowed, bench.NextError());
        Assert.Equal("IDLE", bench.Ask("MOT:STAT?"));
    }

    [Theory]
    [InlineData("ABOR1")]
    [InlineData("abort1 ; MOT:STAT?")]
    public void A_stop_with_the_numeric_suffix_is_not_held_either(string stop)
    {
        Bench bench = Bench.WithProfile();
        bench.Motor.Microsteps = 600;
        bench.Tell("MOT:POS:DECL 600");
        bench.Tell("REW;*OPC?");
        bench.Tell(stop);
        Assert.Equal(Hourhinge.Firmware.Control.ControllerState.Idle, bench.Controller.State);
    }

    private static void AssertRefused(string line, int number)
    {
        Bench bench = Bench.WithProfile();
        Assert.Equal(string.Empty, bench.Ask(line));
        Assert.Equal(number, bench.NextError());
        bench.AssertNoError();
    }
}
