using System.Text;
using Hourhinge.App.Link;

namespace Hourhinge.Tests.Host.App.Link;

/// <summary>The host believes nothing that a peer sends: it finds its answers, or says in one sentence what is
/// wrong.</summary>
public sealed class StrangePeerTests
{
    // A tenth of the program's own patience.
    private static readonly LinkTiming _timing =
        new() { RequestMs = 500, FirstRequestMs = 150, StopRequestMs = 100, BlockGapMs = 70 };

    [Theory]
    [InlineData("rst:0x1 (POWERON_RESET),boot:0x13\r\nload:0x3fff0030,len:1184\r\n")]
    [InlineData("1\n1\n1\n")]
    [InlineData("1999.0;IDLE\n1999.0;1999.0;1999.0;1999.0;IDLE\n1999.0\n")]
    [InlineData("0,\"No er")]
    [InlineData("#44096\n\n1999.0;\x00\xFF\x18")]
    public void Answers_meant_for_others_and_boot_text_are_skipped(string greeting)
    {
        using var peer = FakePeer.Answering(FakePeer.Healthy, greeting);
        using ControllerLink link = ControllerLink.Open(peer.Port, _timing);
        Assert.Equal("Hourhinge,Hinge controller,0,1.1", link.Identity);
        Assert.Equal("IDLE", link.Query("MOTion:STATe?"));
        Assert.Equal("abcde", Encoding.ASCII.GetString(link.QueryBlock("RIG:DATA?")));
    }

    [Theory]
    [InlineData("#18a\nb\r\nc\n\n", "a\nb\r\nc\n\n")]
    [InlineData("#10", "")]
    [InlineData("#3012\n\n\n\n\n\n\n\n\n\n\n\n", "\n\n\n\n\n\n\n\n\n\n\n\n")]
    public void A_block_may_hold_newlines(string answer, string expected)
    {
        using var peer = FakePeer.Answering(q => q == "RIG:DATA?" ? answer : FakePeer.Healthy(q));
        using ControllerLink link = ControllerLink.Open(peer.Port, _timing);
        Assert.Equal(expected, Encoding.Latin1.GetString(link.QueryBlock("RIG:DATA?")));
        Assert.Equal("IDLE", link.Query("MOTion:STATe?"));
    }

    public static TheoryData<string, string> Streams => new()
    {
        { "", "nothing answers" },
        { "\x80\xFE\xF8\x00\x06\xE6\x98\xF8\x80\xFE", "115200 baud" },
        { "tick 17\n", "another instrument" },
        { "x", "another instrument" },
    };

    [Theory]
    [MemberData(nameof(Streams))]
    public void A_stream_without_end_and_silence_end_at_the_deadline(string text, string expected)
    {
        using var peer = new FakePeer(stream =>
        {
            while (text.Length > 0)
            {
                FakePeer.Send(stream, text);
                Thread.Yield();
            }

            Thread.Sleep(3000);
        });
        AssertFails(peer, expected);
    }

    [Fact]
    public void One_byte_at_a_time_does_not_extend_the_deadline()
    {
        using var peer = new FakePeer(stream =>
        {
            foreach (char c in "Slow instrument, serial number 7, of a kind that never ends")
            {
                FakePeer.Send(stream, c.ToString());
                Thread.Sleep(50);
            }
        });
        AssertFails(peer, "another instrument");
    }

    [Theory]
    [InlineData("Hourhinge,Hinge controller,0,1.0", "firmware 1.0 is too old; this program needs 1.1")]
    [InlineData("Hourhinge,Hinge controller,0,2.0", "firmware 2.0 is newer than this program")]
    [InlineData("Hourhinge,Hinge controller", "no version that is understood")]
    [InlineData("Hourhinge,Hinge controller,0,new", "no version that is understood")]
    [InlineData("Acme,Bench meter,17,3.2",
        "another instrument, not a Hourhinge controller: it says `Acme,Bench meter,17")]
    public void The_version_is_checked(string identity, string expected)
    {
        using var peer = FakePeer.Answering(q => q == "*IDN?" ? identity : FakePeer.Healthy(q));
        AssertFails(peer, expected);
    }

    [Fact]
    public void An_instrument_that_knows_no_marks_is_named_by_its_own_answer()
    {
        using var peer = new FakePeer(stream =>
        {
            using var reader = new StreamReader(stream, Encoding.Latin1, false, 1, leaveOpen: true);
            for (string? line = reader.ReadLine(); line != null; line = reader.ReadLine())
            {
                FakePeer.Send(stream, line == "*IDN?" ? "Oven 3000 at your service\n" : "what?\n");
            }
        });
        AssertFails(peer, "another instrument, not a Hourhinge controller: it says `Oven 3000 at your service`");
    }

    [Fact]
    public void An_error_queue_without_end_ends()
    {
        using var peer = FakePeer.Answering(q =>
            q == "SYSTem:ERRor?" ? "-113,\"Undefined header\"" : FakePeer.Healthy(q));
        using ControllerLink link = ControllerLink.Open(peer.Port, _timing);
        Assert.Equal("IDLE", link.Query("MOTion:STATe?"));
        DeviceException e = Assert.Throws<DeviceException>(() => link.Command("INITiate", "`start`"));
        Assert.Contains("does not become empty", e.Message, StringComparison.Ordinal);
    }

    [Fact]
    public void A_query_whose_answer_is_lost_is_asked_again_and_an_error_query_is_not()
    {
        int asked = 0;
        using var peer = FakePeer.Answering(q => q is "MOTion:STATe?" or "SYSTem:ERRor?" && asked++ % 2 == 0
            ? null
            : FakePeer.Healthy(q));
        using ControllerLink link = ControllerLink.Open(peer.Port, _timing);
        Assert.Equal("IDLE", link.Query("MOTion:STATe?"));
        asked = 1; // The queue is read before the command, with success.
        LinkLostException e = Assert.Throws<LinkLostException>(() => link.Command("INITiate", "`start`"));
        Assert.Contains("whether the controller executed `start` is not known", e.Message, StringComparison.Ordinal);
    }

    [Fact]
    public void A_refused_query_is_told_with_the_controllers_reason()
    {
        using var peer = FakePeer.Answering(q => q switch
        {
            "PROFile:NAME?" => "",
            "SYSTem:ERRor?" => "-221,\"Settings conflict;no profile\"",
            _ => FakePeer.Healthy(q),
        });
        using ControllerLink link = ControllerLink.Open(peer.Port, _timing);
        DeviceException e = Assert.Throws<DeviceException>(() => link.Query("PROFile:NAME?"));
        Assert.Contains("-221", e.Message, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData(16, false, "in use")]
    [InlineData(11, false, "in use")]
    [InlineData(13, false, "permission is denied")]
    [InlineData(5, true, "in use")]
    [InlineData(1, false, "permission is denied")]
    [InlineData(5, false, "cannot open the port (the system's words)")]
    public void A_busy_port_and_a_forbidden_one_have_two_sentences(int code, bool onWindows, string expected)
    {
        var inner = new IOException("the system's words", code);
        Exception e = code is 13 or 5 or 1 ? new UnauthorizedAccessException("denied", inner) : inner;
        Assert.Contains(expected, LinkPort.ReasonNotOpened(e, onWindows), StringComparison.Ordinal);
    }

    private static void AssertFails(FakePeer peer, string expected)
    {
        DeviceException e = Assert.Throws<DeviceException>(() => ControllerLink.Open(peer.Port, _timing).Dispose());
        Assert.Contains(expected, e.Message, StringComparison.Ordinal);
    }
}
