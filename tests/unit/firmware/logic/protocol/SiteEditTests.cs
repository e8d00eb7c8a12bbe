// Editing the rig at the site from a serial terminal: the controller compiles the profile itself. It must come to the
// profile that the host's way comes to, which is built here from decimal texts and doubles, not from RigParameters.

using Hourhinge.SharedMath.Compile;
using Hourhinge.SharedMath.Profile;
using Xunit.Abstractions;

namespace Hourhinge.Tests.Firmware.Logic.Protocol;

public sealed class SiteEditTests(ITestOutputHelper output)
{
    [Fact]
    public void The_controller_compiles_what_the_host_compiles_on_a_thousand_random_rigs()
    {
        var random = new Random(20261125);
        int rigs = 0;
        int refused = 0;
        double worst = 0;
        double worstClosed = 0;
        var bench = new SiteBench(null);
        while (rigs < 1000)
        {
            var rig = new RandomRig(random);
            DriveProfile? host = rig.CompileOnHost(out DriveDesign? design);
            foreach (string line in rig.Commands)
            {
                Assert.StartsWith("0,", bench.Tell(line), StringComparison.Ordinal);
            }

            string error = bench.Tell("RIG:APPL");
            if (host == null)
            {
                Assert.StartsWith("-221", error, StringComparison.Ordinal);
                refused++;
                bench.Tell("RIG:CANC");
                continue;
            }

            Assert.True(error.StartsWith("0,", StringComparison.Ordinal), error);
            DriveProfile device = bench.Controller.Profile;
            Assert.Equal(host.BackOffCounts, device.BackOffCounts);
            Assert.Equal(host.Flags, device.Flags);
            var a = new ProfileEvaluator(host);
            var b = new ProfileEvaluator(device);
            Assert.Equal(a.EndUs, b.EndUs);
            for (int i = 0; i <= 500; i++)
            {
                long us = (long)(a.EndUs / 500.0 * i);
                double x = a.PositionQ16(us) / 65536.0;
                double y = b.PositionQ16(us) / 65536.0;
                worst = Math.Max(worst, Math.Abs(x - y));
                worstClosed = Math.Max(worstClosed, Math.Abs(y - design!.CountsAt(us * 1e-6)));
            }

            rigs++;
        }

        output.WriteLine(
            $"{rigs} random rigs ({refused} further ones refused by both): controller against host {worst:0.000000} "
            + $"step at most, against the closed form {worstClosed:0.000000} step");
        Assert.InRange(worst, 0, 0.01);
        Assert.InRange(worstClosed, 0, 0.01);
    }

    [Fact]
    public void A_readable_session_from_a_terminal()
    {
        var bench = new SiteBench(SiteRigs.Compile(SiteRigs.Short()));
        Assert.Equal("STRAIGHT;246;246", bench.Ask("RIG:FORM?;ARM:NUT?;ANCH?"));
        Assert.Equal("0", bench.Ask("RIG:CHAN?"));
        foreach (string line in new[]
        {
            "RIG:FORM BENT", "RIG:BEND 246.3", "RIG:ARM:NUT 246.5;ANCHOR 245.75", "RIG:THREAD M6",
            "RIG:GEAR 52,17,32,9,22,11,26,9,31,10", "RIG:MOTOR:STEPS 32;MICR 2", "RIG:RATE STARS", "RIG:CLOCK 12.5",
            "RIG:ROD:LONG 60",
        })
        {
            Assert.StartsWith("0,", bench.Tell(line), StringComparison.Ordinal);
        }

        Assert.Equal("1", bench.Ask("RIG:CHAN?"));
        Assert.StartsWith("0,", bench.Tell("RIG:APPLY"), StringComparison.Ordinal);
        Assert.Equal("0", bench.Ask("RIG:CHAN?"));
        Assert.Equal("BENT;246.3", bench.Ask("RIG:FORM?;BEND?"));
        Assert.Equal(12500, bench.Controller.Profile.ClockTrimPpb);

        // The rig survives a power cut, and the next edit starts from it.
        var again = new SiteBench(null, bench.Flash.Copy());
        Assert.Equal("246.5;245.75", again.Ask("RIG:ARM:NUT?;ANCH?"));
        Assert.Equal("1341184,6885", again.Ask("RIG:GEAR?"));
        Assert.Equal("1,1,0,0", again.Ask("RIG:PER?"));
    }

    [Theory]
    [InlineData("RIG:ARM:NUT 5", "-222")]
    [InlineData("RIG:ARM:NUT wide", "-104")]
    [InlineData("RIG:ARM:NUT", "-109")]
    [InlineData("RIG:ARM:NUT 200,300", "-108")]
    [InlineData("RIG:THR M7x9", "-224")]
    [InlineData("RIG:FORM ROUND", "-224")]
    [InlineData("RIG:GEAR 10", "-109")]
    [InlineData("RIG:GEAR 0,5", "-222")]
    [InlineData("RIG:CLOC 20000", "-222")]
    [InlineData("RIG:RATE:LAT 91", "-222")]
    [InlineData("RIG:PER 4,1,1,0", "-222")]
    [InlineData("RIG:PER 1,1,-1,0", "-222")]
    [InlineData("RIG:APPL", "-221")]
    public void Impossible_values_are_refused_with_the_standards_numbers(string command, string error)
    {
        var bench = new SiteBench(SiteRigs.Compile(SiteRigs.Short()));
        uint before = Crc32.Of(bench.Machine.Store.ProfileBytes, 0, bench.Machine.Store.ProfileBytes.Length);
        Assert.StartsWith(error, bench.Tell(command), StringComparison.Ordinal);
        Assert.Equal("0", bench.Ask("RIG:CHAN?"));
        Assert.Equal(before, Crc32.Of(bench.Machine.Store.ProfileBytes, 0, bench.Machine.Store.ProfileBytes.Length));
    }

    [Theory]
    [InlineData("RIG:ROD:LONG 20.2", "at least 1 mm")]
    [InlineData("RIG:ROD:LONG 900", "this linkage works")]
    [InlineData("RIG:MOT:MICR 256", "pull-in")]
    [InlineData("RIG:PITC 20", "pitch must be")]
    [InlineData("RIG:PER 1,1,200,0", "steeper")]
    [InlineData("RIG:MOT:APPR 5000", "approach speed")]
    public void What_does_not_fit_together_is_refused_and_the_old_profile_stays(string command, string words)
    {
        var bench = new SiteBench(SiteRigs.Compile(SiteRigs.Short()));
        byte[] before = bench.Machine.Store.ProfileBytes;
        Assert.StartsWith("0,", bench.Tell(command), StringComparison.Ordinal);
        string error = bench.Tell("RIG:APPL");
        Assert.StartsWith("-221", error, StringComparison.Ordinal);
        Assert.Contains(words, error, StringComparison.Ordinal);
        Assert.Same(before, bench.Machine.Store.ProfileBytes);
        Assert.Equal("1", bench.Ask("RIG:CHAN?"));
    }

    [Fact]
    public void Nothing_is_compiled_while_the_motor_moves()
    {
        var bench = new SiteBench(SiteRigs.Compile(SiteRigs.Short()));
        bench.Tell("INIT");
        Assert.StartsWith("0,", bench.Tell("RIG:CLOC 3"), StringComparison.Ordinal);
        string error = bench.Tell("RIG:APPL");
        Assert.Contains("moving", error, StringComparison.Ordinal);
        bench.Tell("ABOR");
        Assert.StartsWith("0,", bench.Tell("RIG:APPL"), StringComparison.Ordinal);
        Assert.Equal(3000, bench.Controller.Profile.ClockTrimPpb);
    }

    [Fact]
    public void A_power_cut_while_an_edit_is_stored_leaves_the_old_rig_or_the_new_one()
    {
        int old = 0;
        int renewed = 0;
        for (long cut = 0; cut < 1400; cut += 37)
        {
            var bench = new SiteBench(SiteRigs.Compile(SiteRigs.Short()));
            bench.Tell("RIG:ARM:NUT 250");
            bench.Flash.CutAfterBytes = cut;
            bench.Flash.PartialByte = 0x5A;
            bench.Tell("RIG:APPL");
            var again = new SiteBench(null, bench.Flash.Copy());
            string arm = again.Ask("RIG:ARM:NUT?");
            old += arm == "246" ? 1 : 0;
            renewed += arm == "250" ? 1 : 0;
            Assert.True(arm is "246" or "250", arm);
        }

        output.WriteLine($"power cuts while storing: {old} left the old rig, {renewed} the new one");
        Assert.True(old > 0 && renewed > 0);
    }

    [Fact]
    public void An_edit_that_waits_does_not_undo_a_clock_trim_or_an_upload()
    {
        var bench = new SiteBench(SiteRigs.Compile(SiteRigs.Short()));
        bench.Tell("RIG:MOT:REW 1000");
        bench.Tell("CAL:CLOC 50");
        Assert.Equal("50;1000", bench.Ask("RIG:CLOC?;MOT:REW?"));
        Assert.StartsWith("0,", bench.Tell("RIG:APPL"), StringComparison.Ordinal);
        Assert.Equal("50.000;50;1000", bench.Ask("CAL:CLOC?;:RIG:CLOC?;MOT:REW?"));

        bench.Tell("RIG:MOT:REW 1100");
        byte[] upload = ProfileCodec.Encode(SiteRigs.Compile(SiteRigs.Short(24)));
        bench.Link.Send(Bench.Command("PROF:DATA ", upload));
        bench.Run(2);
        Assert.StartsWith("0,", bench.Tell("RIG:APPL"), StringComparison.Ordinal);
        Assert.Equal("24;1100", bench.Ask("RIG:ROD:LONG?;:RIG:MOT:REW?"));
    }
}
