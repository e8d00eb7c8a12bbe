// The remote shutter: counts, times, and above all that it is never left pressed.

using Hourhinge.Firmware.Control;
using Hourhinge.Firmware.Guards;
using Hourhinge.Firmware.Panel;

namespace Hourhinge.Tests.Firmware.Logic.Panel;

public sealed class ShutterTests
{
    [Fact]
    public void Takes_the_frames_that_were_asked_for_with_the_times_that_were_asked_for()
    {
        SiteBench bench = Tracking("SHUT:COUN 3;EXP 5;GAP 2;SETT 1.5");
        var edges = new List<double>();
        bool was = false;
        bench.Watch = () =>
        {
            if (bench.Shutter.IsOn != was)
            {
                was = !was;
                edges.Add(bench.Clock.TrueSec);
            }
        };
        double from = bench.Clock.TrueSec;
        Assert.StartsWith("0,", bench.Tell("SHUT:STAR"), StringComparison.Ordinal);
        bench.Run(40);
        Assert.Equal(6, edges.Count);
        Assert.InRange(edges[0] - from, 1.49, 1.6);
        for (int i = 0; i < 3; i++)
        {
            Assert.InRange(edges[(2 * i) + 1] - edges[2 * i], 4.99, 5.02);
        }

        Assert.InRange(edges[2] - edges[1], 1.99, 2.02);
        Assert.Equal("DONE,\"\"", bench.Ask("SHUT:STAT?"));
        Assert.Equal("3", bench.Ask("SHUT:TAK?"));
    }

    [Fact]
    public void Starts_with_tracking_when_it_is_told_to()
    {
        SiteBench bench = new(SiteRigs.Compile(SiteRigs.Short(35)));
        bench.Tell("SHUT:COUN 2;EXP 1;AUTO 1");
        bench.Gesture(Gesture.Press);
        bench.Run(12);
        Assert.Equal(2, bench.Shutter.Count);
    }

    [Fact]
    public void Starts_nothing_without_tracking()
    {
        SiteBench bench = new(SiteRigs.Compile(SiteRigs.Short()));
        Assert.StartsWith("-221", bench.Tell("SHUT:STAR"), StringComparison.Ordinal);
        bench.Run(5);
        Assert.Equal(0, bench.Shutter.Count);
    }

    [Theory]
    [InlineData("ABOR")]
    [InlineData("REW")]
    [InlineData("*RST")]
    [InlineData("SHUT:STOP")]
    public void Lets_go_at_once_on_a_command(string command)
    {
        SiteBench bench = Exposing();
        bench.Tell(command);
        Assert.False(bench.Shutter.IsOn);
        Assert.StartsWith("STOPPED", bench.Ask("SHUT:STAT?"), StringComparison.Ordinal);
    }

    [Fact]
    public void Lets_go_on_a_fault_and_on_a_low_pack_and_on_the_end_switch()
    {
        SiteBench bench = Exposing();
        bench.Home.IsHeld = bench.End.IsHeld = true;
        bench.Pass(5);
        Assert.False(bench.Shutter.IsOn);
        Assert.Equal(Fault.BothSwitches, bench.Controller.FaultReason);

        bench = Exposing();
        bench.Pack.OpenCircuitVolts = _ => 4.0;
        bench.Run(2);
        Assert.False(bench.Shutter.IsOn);
        Assert.Equal(Fault.SupplyLow, bench.Controller.FaultReason);

        bench = Exposing();
        bench.Home.IsWireBroken = true;
        bench.End.IsHeld = true;
        bench.Pass(5);
        Assert.False(bench.Shutter.IsOn);
        Assert.Equal(ControllerState.EndOfTravel, bench.Controller.State);
    }

    [Fact]
    public void Begins_no_exposure_that_the_travel_cannot_hold()
    {
        SiteBench bench = Tracking("SHUT:COUN 99;EXP 30;GAP 1;SETT 0", 23);
        bool was = false;
        int cut = 0;
        double opened = 0;
        bench.Watch = () =>
        {
            if (bench.Shutter.IsOn && !was)
            {
                opened = bench.Clock.TrueSec;
            }

            cut += was && !bench.Shutter.IsOn && bench.Clock.TrueSec - opened < 29.9 ? 1 : 0;
            was = bench.Shutter.IsOn;
        };
        bench.Tell("SHUT:STAR");
        bench.RunUntil(() => bench.Controller.State == ControllerState.EndOfTravel, 400, 10);
        Assert.Equal(0, cut);
        Assert.InRange(bench.Shutter.Count, 4, 6);
        Assert.Contains("travel ends", bench.Ask("SHUT:STAT?"), StringComparison.Ordinal);
    }

    // One second of the travel must be left after an exposure, and 67 µs for each 0.001" of dither.
    [Theory]
    [InlineData(500, 0, false)]
    [InlineData(900, 0, false)]
    [InlineData(1200, 0, true)]
    [InlineData(1200, 6000, false)]
    [InlineData(1500, 6000, true)]
    public void An_exposure_begins_only_when_a_second_of_travel_is_left_after_it(
        int marginMs, int ditherMilliarcsec, bool begins)
    {
        SiteBench bench = Tracking("SHUT:COUN 1;SETT 0", 23);
        bench.Machine.Shutter.Settings.DitherMilliarcsec = ditherMilliarcsec;
        bench.Machine.Shutter.Settings.ExposureMs = (int)(bench.Controller.RemainingUs / 1000) - marginMs;
        Assert.Null(bench.Machine.Shutter.Start());
        bench.Pass(1);
        Assert.Equal(begins, bench.Shutter.IsOn);
        Assert.Equal(begins ? ShutterProgram.Exposing : ShutterProgram.Stopped, bench.Machine.Shutter.State);
    }

    [Fact]
    public void Dithers_between_frames_and_waits_until_the_drive_is_there()
    {
        SiteBench bench = Tracking("SHUT:COUN 12;EXP 2;GAP 0.5;SETT 0.5;DITH 6");
        var places = new HashSet<long>();
        bool was = false;
        bench.Watch = () =>
        {
            if (bench.Shutter.IsOn && !was)
            {
                Assert.True(bench.Controller.IsOnTarget);
                places.Add(bench.Controller.DitherCounts);
                double arcsec = bench.Controller.DitherCounts * bench.Controller.Profile.MicroArcsecPerCount / 1e6;
                Assert.InRange(arcsec, -6, 6);
            }

            was = bench.Shutter.IsOn;
        };
        bench.Tell("SHUT:STAR");
        bench.Run(60);
        Assert.Equal(12, bench.Shutter.Count);
        Assert.True(places.Count >= 4, $"{places.Count} places");
    }

    [Fact]
    public void Survives_a_power_cut_when_it_was_saved()
    {
        SiteBench bench = new(SiteRigs.Compile(SiteRigs.Short()));
        Assert.StartsWith("0,", bench.Tell("SHUT:COUN 17;EXP 12.5;DITH 2.5;SAVE"), StringComparison.Ordinal);
        SiteBench again = new(null, bench.Flash.Copy());
        Assert.Equal("17;12.500;2.500", again.Ask("SHUT:COUN?;EXP?;DITH?"));
    }

    [Fact]
    public void Saving_keeps_the_position()
    {
        SiteBench bench = Tracking("SHUT:COUN 17");
        bench.Run(20);
        bench.Tell("ABOR");
        Assert.StartsWith("0,", bench.Tell("SHUT:SAVE"), StringComparison.Ordinal);
        Assert.True(bench.Controller.IsPositionKnown);
        Assert.StartsWith("0,", bench.Tell("INIT"), StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("SHUT:EXP 0.001", "-222")]
    [InlineData("SHUT:EXP 7200", "-222")]
    [InlineData("SHUT:COUN 0", "-222")]
    [InlineData("SHUT:GAP -1", "-222")]
    [InlineData("SHUT:DITH many", "-104")]
    [InlineData("SHUT:COUN", "-109")]
    public void Refuses_impossible_values(string command, string error)
    {
        SiteBench bench = new(null);
        Assert.StartsWith(error, bench.Tell(command), StringComparison.Ordinal);
        Assert.Equal("1;30.000", bench.Ask("SHUT:COUN?;EXP?"));
    }

    private static SiteBench Tracking(string settings, double longestMm = 35)
    {
        SiteBench bench = new(SiteRigs.Compile(SiteRigs.Short(longestMm)));
        Assert.StartsWith("0,", bench.Tell(settings), StringComparison.Ordinal);
        Assert.StartsWith("0,", bench.Tell("INIT"), StringComparison.Ordinal);
        return bench;
    }

    private static SiteBench Exposing()
    {
        SiteBench bench = Tracking("SHUT:COUN 3;EXP 30;SETT 0");
        bench.Tell("SHUT:STAR");
        bench.Run(5);
        Assert.True(bench.Shutter.IsOn);
        return bench;
    }

    [Fact]
    public void Settings_that_were_not_saved_are_neither_kept_by_a_reset_nor_stored_with_a_rig()
    {
        SiteBench bench = new(SiteRigs.Compile(SiteRigs.Short()));
        bench.Tell("SHUT:COUN 5;EXP 60;SAVE");
        bench.Tell("SHUT:COUN 9;EXP 61");
        bench.Tell("*RST");
        Assert.Equal("5;60.000", bench.Ask("SHUT:COUN?;EXP?"));
        bench.Tell("SHUT:COUN 9");
        Assert.StartsWith("0,", bench.Tell("RIG:MOT:REW 1000;:RIG:APPL"), StringComparison.Ordinal);
        Assert.Equal("5;60.000", new SiteBench(null, bench.Flash.Copy()).Ask("SHUT:COUN?;EXP?"));
    }

    [Fact]
    public void Settings_that_were_not_saved_outlast_a_clock_trim_and_a_rig()
    {
        SiteBench bench = new(SiteRigs.Compile(SiteRigs.Short()));
        bench.Tell("SHUT:COUN 5;EXP 60;SAVE");
        bench.Tell("SHUT:COUN 9");
        Assert.StartsWith("0,", bench.Tell("CAL:CLOC 5"), StringComparison.Ordinal);
        Assert.Equal("9;60.000", bench.Ask("SHUT:COUN?;EXP?"));
        Assert.StartsWith("0,", bench.Tell("RIG:MOT:REW 1000;:RIG:APPL"), StringComparison.Ordinal);
        Assert.Equal("9;60.000", bench.Ask("SHUT:COUN?;EXP?"));
        bench.Tell("*RST");
        Assert.Equal("5;60.000", bench.Ask("SHUT:COUN?;EXP?"));
    }
}
