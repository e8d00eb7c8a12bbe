using Hourhinge.Firmware.Guards;
using Hourhinge.Firmware.Storage;
using Hourhinge.Rehearsal.Board;
using Hourhinge.SharedMath.Profile;
using Hourhinge.Tests.SharedMath.Compile;

namespace Hourhinge.Tests.Firmware.Logic.Storage;

/// <summary>The board's own limits, and what a damaged flash does.</summary>
public class BoardStoreTests
{
    [Fact]
    public void Limits_survive_a_power_cycle_and_profiles_keep_within_them()
    {
        Bench bench = Bench.WithProfile();
        string end = bench.Controller.EndCounts.ToString();
        string crc = bench.Ask("PROF:CRC?");
        bench.Tell($"BOAR:RATE 2000;TRAV {end};SWIT:HOME ON;:BOAR:SAVE");
        bench.AssertNoError();
        var again = new Bench(bench.Flash.Copy());
        Assert.Equal($"2000;{end};1;0", again.Ask("BOAR:RATE?;TRAV?;SWIT:HOME?;END?"));
        Assert.Equal(crc, again.Ask("PROF:CRC?"));

        DriveProfile fast = SampleDesigns.Blank("fast");
        fast.RewindCountsPerSec = 2001;
        again.Upload(SampleDesigns.Compile(SampleDesigns.Bench(), fast));
        Assert.Contains("(BOARd:RATE)", again.Ask("SYST:ERR?"), StringComparison.Ordinal);
        again.Upload(SampleDesigns.Compile(SampleDesigns.Bench(21)));
        Assert.Contains("(BOARd:TRAVel)", again.Ask("SYST:ERR?"), StringComparison.Ordinal);
        Assert.Equal(crc, again.Ask("PROF:CRC?"));
    }

    [Fact]
    public void A_switch_of_the_board_is_read_although_the_profile_denies_it()
    {
        DriveProfile blind = SampleDesigns.Blank("blind");
        blind.Flags = 0;
        Bench bench = Bench.WithProfile(SampleDesigns.Compile(SampleDesigns.Bench(), blind));
        bench.EndAt = 450;
        bench.Tell("BOAR:SWIT:END ON;:BOAR:SAVE");
        bench.Motor.Microsteps = 400;
        bench.Tell("MOT:POS:DECL 400;:MOT:JOG 200");
        bench.Run(5);
        Assert.Equal(450, bench.Motor.Microsteps);
        bench.Tell("BOAR:SWIT:END OFF;:BOAR:SAVE");
        bench.AssertNoError();
        bench.Tell("MOT:POS:DECL 450;:MOT:JOG 100");
        bench.Run(5);
        Assert.Equal(550, bench.Motor.Microsteps);
    }

    [Fact]
    public void Limits_are_changed_neither_while_moving_nor_below_the_profile_in_use()
    {
        Bench bench = Bench.WithProfile();
        bench.Tell("BOAR:TRAV 10;:BOAR:SAVE");
        Assert.Contains("longer than the board's", bench.Ask("SYST:ERR?"), StringComparison.Ordinal);
        bench.Tell("BOAR:TRAV MAX;:INIT;:BOAR:SAVE");
        Assert.Contains("moving", bench.Ask("SYST:ERR?"), StringComparison.Ordinal);
    }

    [Fact]
    public void A_power_cut_at_any_byte_leaves_the_old_limits_or_the_new_ones()
    {
        var before = new VirtualFlash();
        Assert.True(new BoardStore(before).Save(new BoardLimits { RateCountsPerSec = 111 }));
        VirtualFlash after = before.Copy();
        Assert.True(new BoardStore(after).Save(new BoardLimits { RateCountsPerSec = 222 }));
        for (long cut = 0; cut < after.BytesWritten; cut++)
        {
            foreach (byte torn in new byte[] { 0, 0xFF, 0x5A })
            {
                VirtualFlash flash = before.Copy();
                flash.CutAfterBytes = cut;
                flash.PartialByte = torn;
                Assert.Throws<PowerCutException>(() =>
                    new BoardStore(flash).Save(new BoardLimits { RateCountsPerSec = 222 }));
                Assert.True(new BoardStore(flash.Copy()).Limits.RateCountsPerSec is 111 or 222);
            }
        }
    }

    [Fact]
    public void A_rotten_newer_slot_is_reported_until_the_next_upload()
    {
        Bench bench = Bench.WithProfile();
        bench.Upload(SampleDesigns.Compile(SampleDesigns.Bench(25), SampleDesigns.Blank("newer")));
        Assert.Equal("1,2", bench.Ask("PROF:SLOT?"));
        VirtualFlash rotten = bench.Flash.Copy();
        byte[] one = new byte[1];
        rotten.Read(1, 40, one, 0, 1);
        one[0] ^= 4;
        rotten.Write(1, 40, one, 0, 1);

        var again = new Bench(rotten);
        Assert.Equal("\"bench rig\"", again.Ask("PROF:NAME?"));
        Assert.Equal("4096", (int.Parse(again.Ask("STAT:QUES:COND?")) & 4096).ToString());
        Assert.Equal("2", again.Ask("*TST?"));
        again.Upload(SampleDesigns.Compile(SampleDesigns.Bench(25), SampleDesigns.Blank("newest")));
        again.AssertNoError();
        Assert.Equal("0", again.Ask("*TST?"));
        Assert.Equal("\"newest\"", new Bench(rotten).Ask("PROF:NAME?"));
    }

    [Theory]
    [InlineData(1)]
    [InlineData(2)]
    [InlineData(5)]
    public void A_flash_that_cannot_be_read_at_one_boot_never_lets_an_old_profile_win_later(int uploads)
    {
        Bench bench = Bench.WithProfile();
        for (int i = 1; i < uploads; i++)
        {
            bench.Upload(SampleDesigns.Compile(SampleDesigns.Bench(), SampleDesigns.Blank("old " + i)));
        }

        foreach (bool stillUnreadable in new[] { false, true })
        {
            VirtualFlash flash = bench.Flash.Copy();
            flash.IsUnreadable = true;
            var blind = new Bench(flash);
            Assert.Equal("2", blind.Ask("*TST?"));
            flash.IsUnreadable = stillUnreadable;
            blind.Upload(SampleDesigns.Compile(SampleDesigns.Bench(), SampleDesigns.Blank("new")));
            flash.IsUnreadable = false;
            if (stillUnreadable)
            {
                // It could not be verified, so it is refused, and the old profile is still there.
                Assert.Equal(-320, blind.NextError());
            }
            else
            {
                blind.AssertNoError();
                Assert.Equal("\"new\"", new Bench(flash.Copy()).Ask("PROF:NAME?"));
            }
        }
    }

    [Fact]
    public void The_area_has_one_size_in_code_and_document()
    {
        string document = File.ReadAllText(Support.RepositoryFile.Path("firmware/STORAGE.md"));
        Assert.Contains($"= {StorageLayout.AreaBytes} bytes", document, StringComparison.Ordinal);
        Assert.Contains($"| {StorageLayout.BoardRecordAt} |", document, StringComparison.Ordinal);
        Assert.Equal(StorageLayout.AreaBytes, new VirtualFlash().AreaSizeBytes);
        Assert.Equal(StorageLayout.AreaBytes, new Hourhinge.Board.FileStorage("a", "b").AreaSizeBytes);
    }

    // The drive is full, say, and the second file could never be made.
    [Fact]
    public void Limits_that_were_refused_do_not_come_back_after_a_power_cycle()
    {
        var flash = new VirtualFlash { WornOutArea = 1 };
        var store = new BoardStore(flash);
        Assert.False(store.Save(new BoardLimits { RateCountsPerSec = 222 }));
        Assert.Equal(BoardLimits.MaxRate, store.Limits.RateCountsPerSec);
        Assert.Equal(BoardLimits.MaxRate, new BoardStore(flash).Limits.RateCountsPerSec);
    }
}
