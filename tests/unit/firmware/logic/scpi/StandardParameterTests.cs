using Hourhinge.Firmware.Scpi;

namespace Hourhinge.Tests.Firmware.Logic.Scpi;

/// <summary>Parameters as IEEE 488.2, 7.7 and SCPI-1999 volume 1, chapter 7 write them (sections from
/// memory).</summary>
public class StandardParameterTests
{
    [Theory]
    [InlineData("*ESE #HFF", "*ESE?", "255")]
    [InlineData("*ESE #hfe", "*ESE?", "254")]
    [InlineData("*ESE #Q17", "*ESE?", "15")]
    [InlineData("*ESE #B101", "*ESE?", "5")]
    [InlineData("*ESE MAX", "*ESE?", "255")]
    [InlineData("*ESE 7;*ESE minimum", "*ESE?", "0")]
    [InlineData("*ESE 1.6E1", "*ESE?", "16")]
    [InlineData("*ESE 1.6 E 1", "*ESE?", "16")]
    [InlineData("*ESE 160E-1", "*ESE?", "16")]
    [InlineData("*SRE 255", "*SRE?", "191")]
    [InlineData("SHUT:GAP 500 MS", "SHUT:GAP?", "0.500")]
    [InlineData("SHUT:GAP 500MS", "SHUT:GAP?", "0.500")]
    [InlineData("SHUT:GAP 1.5 E3 ms", "SHUT:GAP?", "1.500")]
    [InlineData("SHUT:GAP 2S", "SHUT:GAP?", "2.000")]
    [InlineData("SHUT:GAP #H2", "SHUT:GAP?", "2.000")]
    [InlineData("SHUT:EXP DEF", "SHUT:EXP?", "30.000")]
    [InlineData("SHUT:EXP MAXimum", "SHUT:EXP?", "3600.000")]
    [InlineData("SHUT1:GAP 3;GAP1 4", "SHUT:GAP?", "4.000")]
    [InlineData("SHUT:DITH 2 SEC", "SHUT:DITH?", "2.000")]
    [InlineData("SHUT:AUTO ON", "SHUT:AUTO?", "1")]
    [InlineData("SHUT:AUTO OFF", "SHUT:AUTO?", "0")]
    [InlineData("RIG:ARM:NUT 0.25 M", "RIG:ARM:NUT?", "250")]
    [InlineData("RIG:ARM:NUT 250 MM", "RIG:ARM:NUT?", "250")]
    [InlineData("RIG:ARM:NUT 250000 UM", "RIG:ARM:NUT?", "250")]
    [InlineData("RIG:RATE:LAT 52.5 DEG", "RIG:RATE:LAT?", "52.5")]
    [InlineData("RIG:MOT:REV ON", "RIG:MOT:REV?", "1")]
    [InlineData("RIG:PITC 1.25 MM", "RIG:PITC?", "1.25")]
    [InlineData("RIG:PER 2,4,1.5,-90", "RIG:PER? 2", "2,4,1.5,-90")]
    [InlineData("RIG:PER 1,4,2 UM,90 DEG", "RIG:PER?", "1,4,2,90")]
    [InlineData("SUPP:KEEP DEF,DEF", "SUPP:KEEP?", "0.000,10.000")]
    public void A_parameter_may_take_any_form_of_the_standard(string command, string query, string answer)
    {
        Bench bench = Bench.WithProfile();
        bench.Tell(command);
        string error = bench.Ask("SYST:ERR?");
        Assert.True(error.StartsWith("0,", StringComparison.Ordinal)
            || error.StartsWith("-241", StringComparison.Ordinal), error);
        Assert.Equal(answer, bench.Ask(query));
    }

    [Theory]
    [InlineData("*ESE? MAX", "255")]
    [InlineData("SHUT:EXP? MIN", "0.020")]
    [InlineData("SHUT:EXP? DEF", "30.000")]
    [InlineData("CAL:CLOC? MINimum", "-10000.000")]
    public void Behind_a_query_the_words_ask_for_the_limit(string query, string answer) =>
        Assert.Equal(answer, Bench.WithProfile().Ask(query));

    [Theory]
    [InlineData("*ESE #HXY", ScpiErrors.InvalidNumber)]
    [InlineData("*ESE #Q8", ScpiErrors.InvalidNumber)]
    [InlineData("*ESE #B2", ScpiErrors.InvalidNumber)]
    [InlineData("*ESE #H100", ScpiErrors.OutOfRange)]
    [InlineData("*ESE #HFFFFFFFFFFFFFFFFFF", ScpiErrors.OutOfRange)]
    [InlineData("*ESE 5 S", ScpiErrors.SuffixNotAllowed)]
    [InlineData("SHUT:GAP 5 MM", ScpiErrors.InvalidSuffix)]
    [InlineData("SHUT:GAP 5 XS", ScpiErrors.InvalidSuffix)]
    [InlineData("SHUT:AUTO MAYBE", ScpiErrors.DataType)]
    [InlineData("SHUT2:GAP 1", ScpiErrors.UndefinedHeader)]
    [InlineData("*ESE ON", ScpiErrors.DataType)]
    [InlineData("*ESE? 5", ScpiErrors.ParameterNotAllowed)]
    [InlineData("MOT:JOG 1 2", ScpiErrors.InvalidSeparator)]
    public void What_the_standard_does_not_allow_has_its_number(string line, int number)
    {
        Bench bench = Bench.WithProfile();
        bench.Tell(line);
        Assert.Equal(number, bench.NextError());
    }

    [Fact]
    public void A_doubled_quote_in_a_string_is_one_quote_and_a_newline_there_is_data()
    {
        Bench bench = Bench.WithProfile();
        bench.Tell("RIG:THR \"M\"\"6\nREW\n\";:MOT:STAT?");
        Assert.Equal(ScpiErrors.IllegalValue, bench.NextError());
        Assert.Equal(0, bench.Motor.Pulses);
        bench.AssertNoError();
    }

    // IEEE 488.2, 6.5.7.5: nothing can follow an answer whose end is only the end of the message.
    [Fact]
    public void A_query_after_the_identity_in_the_same_message_is_minus_440()
    {
        Bench bench = new();
        Assert.StartsWith("Hourhinge,", bench.Ask("*IDN?;*ESE?"), StringComparison.Ordinal);
        Assert.StartsWith("-440,\"Query UNTERMINATED after indefinite response", bench.Ask("SYST:ERR?"),
            StringComparison.Ordinal);
        Assert.Equal(128 + 4, int.Parse(bench.Ask("*ESR?")));
    }

    [Fact]
    public void Reset_returns_every_setting_to_its_documented_state()
    {
        Bench bench = Bench.WithProfile();
        bench.Tell("SHUT:COUN 9;EXP 1;GAP 1;SETT 1;DITH 1;AUTO ON;:RIG:PITC 1.5;:BOARd:RATE 5;:*ESE 9;*SRE 9");
        bench.AssertNoError();
        bench.Tell("*RST");
        Assert.Equal("1;30.000;2.000;2.000;0.000;0", bench.Ask("SHUT:COUN?;EXP?;GAP?;SETT?;DITH?;AUTO?"));
        Assert.Equal("0;0;9;9", bench.Ask("RIG:CHAN?;:BOAR:CHAN?;*ESE?;*SRE?"));
        Assert.Equal("\"bench rig\"", bench.Ask("PROF:NAME?"));
    }
}
