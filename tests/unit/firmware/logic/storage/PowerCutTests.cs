using Hourhinge.Firmware.Scpi;
using Hourhinge.Firmware.Storage;
using Hourhinge.Rehearsal.Board;
using Hourhinge.SharedMath.Profile;
using Hourhinge.Tests.SharedMath.Compile;
using Xunit.Abstractions;

namespace Hourhinge.Tests.Firmware.Logic.Storage;

/// <summary>Old or new, never neither: at every byte that an upload writes.</summary>
public class PowerCutTests(ITestOutputHelper output)
{
    private static readonly byte[] _oldRig = [.. Enumerable.Range(0, 300).Select(i => (byte)(i * 7))];
    private static readonly byte[] _newRig = [.. Enumerable.Range(0, 250).Select(i => (byte)(i * 11))];
    private static readonly byte[] _old = Profile("old", 20, _oldRig);
    private static readonly byte[] _new = Profile("new", 35, _newRig);

    [Theory]
    [InlineData("as it was")]
    [InlineData("as written")]
    [InlineData("00")]
    [InlineData("FF")]
    [InlineData("random")]
    public void A_power_cut_at_any_byte_leaves_the_old_pair_or_the_new_pair(string torn)
    {
        int cuts = 0;
        int old = 0;
        int fresh = 0;
        int neither = 0;
        Random random = new(1);

        // From each slot in turn: the old pair in slot 0 and in slot 1, the other slot blank or with an older pair.
        foreach (int saves in new[] { 1, 2, 3 })
        {
            VirtualFlash before = new();
            for (int i = 0; i < saves; i++)
            {
                Assert.True(Loaded(before).Save(_old, _oldRig));
            }

            VirtualFlash whole = before.Copy();
            Assert.True(Loaded(whole).Save(_new, _newRig));
            for (long cut = 0; cut < whole.BytesWritten; cut++)
            {
                VirtualFlash flash = before.Copy();
                flash.CutAfterBytes = cut;
                flash.PartialByte = torn switch
                {
                    "as it was" => null,
                    "00" => 0,
                    "FF" => 0xFF,
                    "random" => (byte)random.Next(256),
                    _ => WrittenAt(before, cut),
                };
                Assert.Throws<PowerCutException>(() =>
                    Loaded(flash).Save(_new, _newRig));
                cuts++;

                ProfileStore store = Loaded(flash.Copy());
                bool isOld = Holds(store, _old, _oldRig);
                bool isNew = Holds(store, _new, _newRig);
                old += isOld ? 1 : 0;
                fresh += isNew ? 1 : 0;
                neither += isOld || isNew ? 0 : 1;

                // And the next upload works, whatever was left behind.
                if (cut % 97 == 0)
                {
                    VirtualFlash again = flash.Copy();
                    Assert.True(Loaded(again).Save(_new, _newRig));
                    Assert.True(Holds(Loaded(again), _new, _newRig));
                }
            }
        }

        output.WriteLine($"torn byte {torn}: {cuts} cuts, {old} boots old, {fresh} boots new, {neither} neither");
        Assert.True(cuts > 1000);
        Assert.Equal((cuts, 0), (old + fresh, neither));
        Assert.True(old > 0);
        Assert.True(torn != "as written" || fresh > 0, "a cut after the last byte boots the new pair");
    }

    // The same through the link, with the rig file staged and the loop's own guard in the way.
    [Fact]
    public void A_power_cut_in_an_upload_over_the_link_boots_old_or_new()
    {
        Bench first = new();
        first.TellBytes(Bench.Command("RIG:DATA ", _oldRig));
        first.TellBytes(Bench.Command("PROF:DATA ", _old));
        first.AssertNoError();
        long written = first.Flash.BytesWritten;
        int boots = 0;
        for (long cut = 0; cut < written; cut++)
        {
            VirtualFlash flash = first.Flash.Copy();
            Bench bench = new(flash);
            bench.TellBytes(Bench.Command("RIG:DATA ", _newRig));
            flash.CutAfterBytes = cut;
            bench.TellBytes(Bench.Command("PROF:DATA ", _new));
            ProfileStore store = Loaded(flash.Copy());
            Assert.True(Holds(store, _old, _oldRig) || Holds(store, _new, _newRig), $"neither after {cut} bytes");
            boots++;
        }

        Assert.True(boots > 300);
    }

    [Fact]
    public void A_power_cut_at_any_byte_of_the_message_on_the_wire_writes_nothing()
    {
        Bench bench = new();
        bench.TellBytes(Bench.Command("RIG:DATA ", _oldRig));
        bench.TellBytes(Bench.Command("PROF:DATA ", _old));
        byte[] messages = [.. Bench.Command("RIG:DATA ", _newRig), .. Bench.Command("PROF:DATA ", _new)];
        for (int sent = 0; sent < messages.Length; sent++)
        {
            Bench again = new(bench.Flash.Copy());
            long written = again.Flash.BytesWritten;
            again.TellBytes(messages[..sent]);
            Assert.Equal(written, again.Flash.BytesWritten);
        }
    }

    [Fact]
    public void A_flash_with_one_rotten_bit_falls_back_to_the_older_pair()
    {
        VirtualFlash flash = new();
        Assert.True(Loaded(flash).Save(_old, _oldRig));
        Assert.True(Loaded(flash).Save(_new, _newRig));
        int slot = Loaded(flash).Slot;
        for (int at = 0; at < 32 + _new.Length + _newRig.Length; at += 3)
        {
            if (at is >= 24 and < 32)
            {
                continue; // Unused bytes between header and payload.
            }

            VirtualFlash rotten = flash.Copy();
            byte[] one = new byte[1];
            rotten.Read(slot, at, one, 0, 1);
            one[0] ^= 0x10;
            rotten.Write(slot, at, one, 0, 1);
            Assert.True(Holds(Loaded(rotten), _old, _oldRig), $"byte {at}");
        }
    }

    [Fact]
    public void Worn_out_flash_is_reported_and_the_old_pair_stays()
    {
        Bench bench = new();
        bench.TellBytes(Bench.Command("RIG:DATA ", _oldRig));
        bench.TellBytes(Bench.Command("PROF:DATA ", _old));
        bench.Flash.IsWornOut = true;
        bench.TellBytes(Bench.Command("PROF:DATA ", _new));
        Assert.Equal(ScpiErrors.StorageFault, bench.NextError());
        Assert.Equal("\"old\"", bench.Ask("PROF:NAME?"));
        Assert.True(Holds(Loaded(bench.Flash.Copy()), _old, _oldRig));
    }

    [Fact]
    public void Blank_and_random_flash_hold_no_profile()
    {
        Assert.Null(Loaded(new VirtualFlash()).Profile);
        for (int seed = 0; seed < 50; seed++)
        {
            VirtualFlash flash = new();
            byte[] noise = new byte[flash.AreaSizeBytes];
            new Random(seed).NextBytes(noise);
            flash.Write(0, 0, noise, 0, noise.Length);
            flash.Write(1, 0, noise, 0, noise.Length);
            Assert.Null(Loaded(flash).Profile);
        }
    }

    [Fact]
    public void Saves_take_turns_between_the_slots_and_the_newest_wins()
    {
        VirtualFlash flash = new();
        for (int i = 1; i <= 7; i++)
        {
            byte[] profile = Profile("number " + i, 10 + i, []);
            ProfileStore store = Loaded(flash);
            Assert.True(store.Save(profile, []));
            Assert.Equal(((i + 1) % 2, (long)i), (store.Slot, store.Sequence));
            Assert.True(Holds(Loaded(flash), profile, []));
        }
    }

    [Fact]
    public void A_rig_file_is_kept_only_with_the_profile_that_was_made_from_it()
    {
        Bench bench = new();
        bench.TellBytes(Bench.Command("RIG:DATA ", _oldRig));
        bench.TellBytes(Bench.Command("PROF:DATA ", _new));
        Assert.Equal("#10", bench.Ask("RIG:DATA?"));
        bench.TellBytes(Bench.Command("RIG:DATA ", _newRig));
        bench.TellBytes(Bench.Command("PROF:DATA ", _new));
        Assert.StartsWith("#3250", bench.Ask("RIG:DATA?"), StringComparison.Ordinal);
        bench.Tell("CAL:CLOC 3");
        Assert.StartsWith("#3250", bench.Ask("RIG:DATA?"), StringComparison.Ordinal);
        bench.AssertNoError();
    }

    private static byte[] Profile(string name, double minutes, byte[] rig)
    {
        DriveProfile profile = SampleDesigns.Compile(SampleDesigns.Bench(minutes), SampleDesigns.Blank(name));
        profile.RigDigest = Crc32.Of(rig, 0, rig.Length);
        return ProfileCodec.Encode(profile);
    }

    private static ProfileStore Loaded(VirtualFlash flash)
    {
        ProfileStore store = new(flash);
        store.Load();
        return store;
    }

    private static bool Holds(ProfileStore store, byte[] profile, byte[] rig) =>
        store.Profile != null && store.ProfileBytes.SequenceEqual(profile) && store.RigBytes.SequenceEqual(rig);

    // What the byte in hand would have become: the difference that one more byte makes.
    private static byte? WrittenAt(VirtualFlash before, long cut)
    {
        VirtualFlash shorter = Cut(before, cut);
        VirtualFlash longer = Cut(before, cut + 1);
        for (int area = 0; area < 2; area++)
        {
            byte[] a = new byte[before.AreaSizeBytes];
            byte[] b = new byte[before.AreaSizeBytes];
            shorter.Read(area, 0, a, 0, a.Length);
            longer.Read(area, 0, b, 0, b.Length);
            int at = a.AsSpan().CommonPrefixLength(b);
            if (at < a.Length)
            {
                return b[at];
            }
        }

        return null;
    }

    private static VirtualFlash Cut(VirtualFlash before, long bytes)
    {
        VirtualFlash flash = before.Copy();
        flash.CutAfterBytes = bytes;
        try
        {
            Loaded(flash).Save(_new, _newRig);
        }
        catch (PowerCutException)
        {
            // That is what was asked for.
        }

        return flash;
    }
}
