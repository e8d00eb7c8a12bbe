using Hourhinge.Firmware.Control;
using Hourhinge.Firmware.Guards;
using Hourhinge.Firmware.Scpi;
using Hourhinge.SharedMath.Compile;
using Hourhinge.SharedMath.Profile;
using Hourhinge.Tests.SharedMath.Compile;

namespace Hourhinge.Tests.Firmware.Logic.Control;

/// <summary>The states and what leads from one to the next, on the virtual board.</summary>
public class ControllerTests
{
    [Fact]
    public void Tracking_stands_where_the_profile_says_to_the_end_and_stops_there()
    {
        DriveDesign design = SampleDesigns.Bench(3);
        Bench bench = Bench.WithProfile(SampleDesigns.Compile(design));
        double started = bench.Clock.TrueSec;
        bench.Tell("INIT");
        bench.AssertNoError();
        double worst = 0;
        while (bench.Controller.State == ControllerState.Tracking)
        {
            bench.Pass();
            double due = design.CountsAt(Math.Min(bench.Clock.TrueSec - started, design.TravelSec));
            worst = Math.Max(worst, Math.Abs(bench.Motor.Microsteps - due));
        }

        // Half a count of rounding, 0.01 of profile, and up to 30 ms between sending INIT and its execution.
        Assert.InRange(worst, 0.4, 0.56);
        Assert.Equal(ControllerState.EndOfTravel, bench.Controller.State);
        Assert.Equal((long)Math.Round(design.CountsAt(design.TravelSec)), bench.Motor.Microsteps);
        Assert.Equal("END", bench.Ask("MOT:STAT?"));
        Assert.Equal("0.000", bench.Ask("MOT:REM?"));
        bench.Tell("INIT");
        Assert.Equal(ScpiErrors.SettingsConflict, bench.NextError());
    }

    [Theory]
    [InlineData(1)]
    [InlineData(10)]
    [InlineData(20)]
    public void Slow_passes_cost_lateness_and_never_add_up(double passMs)
    {
        DriveDesign design = SampleDesigns.Bench(20);
        Bench bench = Bench.WithProfile(SampleDesigns.Compile(design));
        bench.PassMs = passMs;
        bench.Tell("INIT");
        double baseSec = bench.Clock.TrueSec - (bench.Controller.ProfileUs * 1e-6);
        foreach (double at in new[] { 60.0, 600, 1190 })
        {
            bench.RunUntil(() => bench.Clock.TrueSec - baseSec > at, 1200);
            double due = design.CountsAt(bench.Clock.TrueSec - baseSec);
            Assert.InRange(due - bench.Motor.Microsteps, -0.52, 0.52 + (passMs * 1e-3 * design.CountsPerSecAt(at)));
        }
    }

    [Fact]
    public void Abort_stops_at_once_and_start_goes_on_from_there()
    {
        Bench bench = Bench.WithProfile();
        bench.Tell("INIT");
        bench.Run(30);
        bench.Tell("ABOR");
        long stopped = bench.Motor.Microsteps;
        Assert.True(stopped > 20);
        bench.Run(30);
        Assert.Equal(stopped, bench.Motor.Microsteps);
        Assert.Equal("IDLE", bench.Ask("MOT:STAT?"));
        bench.Tell("INIT");
        bench.Run(10);
        Assert.InRange(bench.Motor.Microsteps, stopped + 8, stopped + 14);
    }

    [Fact]
    public void Resume_catches_up_to_where_the_sky_is_no_faster_than_pull_in()
    {
        DriveDesign design = SampleDesigns.Bench();
        Bench bench = Bench.WithProfile(SampleDesigns.Compile(design));
        bench.Tell("INIT");
        double baseSec = bench.Clock.TrueSec - (bench.Controller.ProfileUs * 1e-6);
        bench.Run(30);
        bench.Tell("ABOR");
        bench.Run(300);
        double last = -1;
        double least = 1;
        bench.Motor.StepMeasured = sec =>
        {
            least = last > 0 && sec > last ? Math.Min(least, sec - last) : least;
            last = sec;
        };
        bench.Tell("INIT:RES");
        bench.AssertNoError();
        bench.Run(5);
        Assert.InRange(design.CountsAt(bench.Clock.TrueSec - baseSec) - bench.Motor.Microsteps, -0.6, 0.6);
        Assert.InRange(least, (1.0 / 400) - 1e-9, 0.004);
    }

    [Fact]
    public void An_internal_fault_is_answered_with_the_exception_s_message()
    {
        Bench bench = Bench.WithProfile();
        bench.Tell("INIT");
        bench.Controller.Fail(Fault.Internal, "a \"quoted\" reason");
        Assert.Equal("7,\"internal error: a 'quoted' reason\"", bench.Ask("MOT:FAUL?"));
        bench.Tell("ABOR");
        Assert.Equal("0,\"no fault\"", bench.Ask("MOT:FAUL?"));
    }

    [Fact]
    public void Resume_needs_something_to_resume()
    {
        Bench bench = Bench.WithProfile();
        bench.Tell("INIT:RES");
        Assert.Contains("nothing to resume", bench.Ask("SYST:ERR?"), StringComparison.Ordinal);
        bench.Tell("INIT");
        bench.Run(5);
        bench.Tell("ABOR");
        bench.Tell("MOT:JOG 1");
        bench.Run(1);
        bench.Tell("INIT:RES");
        Assert.Contains("nothing to resume", bench.Ask("SYST:ERR?"), StringComparison.Ordinal);
    }

    [Fact]
    public void After_power_up_the_position_is_unknown_and_start_is_refused()
    {
        Bench first = Bench.WithProfile();
        Bench bench = new(first.Flash.Copy());
        Assert.Equal("9.91E37", bench.Ask("MOT:POS?"));
        bench.Tell("INIT");
        Assert.Contains("position unknown", bench.Ask("SYST:ERR?"), StringComparison.Ordinal);
        bench.Run(10);
        Assert.Equal(0, bench.Motor.Pulses);
        bench.Tell("MOT:POS:DECL 300");
        bench.Tell("INIT");
        bench.AssertNoError();
        bench.Run(10);
        Assert.InRange(bench.Controller.Drive.Position, 305, 315);
    }

    [Fact]
    public void Elapsed_and_remaining_add_up_to_the_travel()
    {
        Bench bench = Bench.WithProfile();
        bench.Tell("INIT");
        bench.Run(100);
        double elapsed = double.Parse(bench.Ask("MOT:ELAP?"));
        double remaining = double.Parse(bench.Ask("MOT:REM?"));
        Assert.Equal(100, elapsed, 0.3);
        Assert.Equal(1200, elapsed + remaining, 0.2);
        string[] lateness = bench.Ask("MOT:LAT?").Split(',');
        Assert.InRange(double.Parse(lateness[0]), 0.0005, 0.03);
        Assert.InRange(double.Parse(lateness[1]), 0, double.Parse(lateness[0]));
    }

    [Fact]
    public void Clock_trim_is_stored_and_makes_the_sky_faster_by_that_much()
    {
        Bench bench = Bench.WithProfile();
        bench.Tell("CAL:CLOC 5000.5");
        bench.AssertNoError();
        Assert.Equal("5000.500", bench.Ask("CAL:CLOC?"));
        bench.Tell("INIT");
        double before = double.Parse(bench.Ask("MOT:ELAP?"));
        double at = bench.Clock.TrueSec;
        bench.Run(1000);
        double after = double.Parse(bench.Ask("MOT:ELAP?"));
        Assert.Equal(1.0050005, (after - before) / (bench.Clock.TrueSec - at), 2e-5);
        Assert.Equal("5000.500", new Bench(bench.Flash.Copy()).Ask("CAL:CLOC?"));
    }

    [Fact]
    public void Nothing_is_replaced_while_the_motor_moves()
    {
        Bench bench = Bench.WithProfile();
        string crc = bench.Ask("PROF:CRC?");
        bench.Tell("INIT");
        bench.Upload(SampleDesigns.Compile(SampleDesigns.Bench(5)));
        Assert.Equal(ScpiErrors.SettingsConflict, bench.NextError());
        bench.Tell("CAL:CLOC 1");
        Assert.Equal(ScpiErrors.SettingsConflict, bench.NextError());
        Assert.Equal(crc, bench.Ask("PROF:CRC?"));
        Assert.Equal("TRACKING", bench.Ask("MOT:STAT?"));
    }

    [Fact]
    public void The_end_switch_stops_the_travel_before_the_profile_does()
    {
        DriveProfile profile = SampleDesigns.Blank();
        profile.Flags |= DriveProfile.EndSwitchFitted;
        Bench bench = Bench.WithProfile(SampleDesigns.Compile(SampleDesigns.Bench(), profile));
        bench.EndAt = 100;
        bench.Tell("INIT");
        bench.RunUntil(() => bench.Controller.State == ControllerState.EndOfTravel, 200);
        Assert.Equal(100, bench.Motor.Microsteps);
        bench.Tell("MOT:JOG 5");
        bench.Run(1);
        Assert.Equal(100, bench.Motor.Microsteps);
        bench.Tell("MOT:JOG -5");
        bench.Run(1);
        Assert.Equal(95, bench.Motor.Microsteps);
    }

    [Fact]
    public void Both_switches_closed_is_a_fault_that_abort_clears()
    {
        DriveProfile profile = SampleDesigns.Blank();
        profile.Flags |= DriveProfile.EndSwitchFitted;
        Bench bench = Bench.WithProfile(SampleDesigns.Compile(SampleDesigns.Bench(), profile));
        bench.Tell("INIT");
        bench.Run(5);
        (bench.Home.IsHeld, bench.End.IsHeld) = (true, true);
        bench.Run(0.1);
        AssertFault(bench, Fault.BothSwitches);
        bench.Tell("INIT");
        Assert.Equal(ScpiErrors.SettingsConflict, bench.NextError());
        (bench.Home.IsHeld, bench.End.IsHeld) = (false, false);
        bench.Tell("ABOR");
        bench.Tell("INIT");
        Assert.Equal("TRACKING", bench.Ask("MOT:STAT?"));
    }

    [Fact]
    public void A_home_switch_in_mid_travel_is_a_fault_and_the_position_is_no_longer_believed()
    {
        Bench bench = Bench.WithProfile();
        bench.Tell("INIT");
        bench.Run(90);
        bench.Home.IsHeld = true;
        bench.Run(0.1);
        AssertFault(bench, Fault.HomeInMidTravel);
        Assert.Equal("9.91E37", bench.Ask("MOT:POS?"));
        long stopped = bench.Motor.Pulses;
        bench.Run(10);
        Assert.Equal(stopped, bench.Motor.Pulses);
    }

    [Theory]
    [InlineData(50, 50)]
    [InlineData(-3, 0)]
    public void Jog_moves_within_the_travel_only(int counts, int reached)
    {
        Bench bench = Bench.WithProfile();
        bench.Tell($"MOT:JOG {counts}");
        Assert.Equal(reached == 0 ? ScpiErrors.SettingsConflict : 0, bench.NextError());
        bench.Run(2);
        Assert.Equal(reached, bench.Motor.Microsteps);
        Assert.Equal("IDLE", bench.Ask("MOT:STAT?"));
    }

    [Fact]
    public void Declaring_is_refused_while_moving_and_beyond_the_travel()
    {
        Bench bench = Bench.WithProfile();
        bench.Tell($"MOT:POS:DECL {bench.Controller.EndCounts + 1}");
        Assert.Equal(ScpiErrors.SettingsConflict, bench.NextError());
        bench.Tell("INIT");
        bench.Tell("MOT:POS:DECL 0");
        Assert.Equal(ScpiErrors.SettingsConflict, bench.NextError());
        bench.Tell("ABOR");
        bench.Motor.Microsteps = bench.Controller.EndCounts;
        bench.Tell($"MOT:POS:DECL {bench.Controller.EndCounts}");
        Assert.Equal("END", bench.Ask("MOT:STAT?"));
    }

    [Fact]
    public void A_new_profile_keeps_zero_and_makes_any_other_position_unknown()
    {
        Bench bench = Bench.WithProfile(homeAt: null);
        bench.Tell("MOT:POS:DECL 0");
        bench.Upload(SampleDesigns.Compile(SampleDesigns.Bench(5)));
        Assert.Equal("0", bench.Ask("MOT:POS?"));
        bench.Tell("MOT:POS:DECL 10");
        bench.Upload(SampleDesigns.Compile(SampleDesigns.Bench(6)));
        Assert.Equal("9.91E37", bench.Ask("MOT:POS?"));
    }

    private static void AssertFault(Bench bench, int reason)
    {
        Assert.Equal("FAULT", bench.Ask("MOT:STAT?"));
        Assert.StartsWith(reason + ",\"", bench.Ask("MOT:FAUL?"), StringComparison.Ordinal);
    }

    [Fact]
    public void Resume_after_the_profile_has_ended_is_refused_and_start_goes_on_from_there()
    {
        Bench bench = Bench.WithProfile(SampleDesigns.Compile(SampleDesigns.Bench(3)));
        bench.Tell("INIT");
        bench.Run(20);
        bench.Tell("ABOR");
        bench.Run(200);
        bench.Tell("INIT:RES");
        Assert.Contains("too late to resume", bench.Ask("SYST:ERR?"), StringComparison.Ordinal);
        bench.Tell("INIT");
        bench.AssertNoError();
        Assert.Equal("TRACKING", bench.Ask("MOT:STAT?"));
    }

    [Fact]
    public void A_profile_that_releases_the_coils_does_so_when_it_is_applied()
    {
        SiteBench bench = new(SiteRigs.Compile(SiteRigs.Short()));
        bench.Tell("INIT");
        bench.Run(2);
        bench.Tell("ABOR");
        Assert.True(bench.Motor.IsEnabled);
        Assert.StartsWith("0,", bench.Tell("RIG:MOT:REL ON;:RIG:APPL"), StringComparison.Ordinal);
        Assert.False(bench.Motor.IsEnabled);
    }

    [Fact]
    public void A_clock_trim_at_the_end_of_the_travel_leaves_the_hinge_at_the_end()
    {
        Bench bench = Bench.WithProfile();
        bench.Motor.Microsteps = bench.Controller.EndCounts;
        bench.Tell($"MOT:POS:DECL {bench.Controller.EndCounts}");
        Assert.Equal("END", bench.Ask("MOT:STAT?"));
        bench.Tell("CAL:CLOC 5");
        Assert.Equal("END", bench.Ask("MOT:STAT?"));
    }

    // Passes whose whole seconds end 19 ms before the travel does.
    [Fact]
    public void The_last_steps_of_the_travel_are_no_later_than_the_others()
    {
        SiteBench bench = new(SiteRigs.Compile(SiteRigs.Short(21.3)));
        bench.Tell("INIT");
        while (bench.Controller.State == ControllerState.Tracking)
        {
            bench.Pass(10.07);
        }

        Assert.Equal(ControllerState.EndOfTravel, bench.Controller.State);
        Assert.InRange(bench.Controller.Lateness.WorstUs, 1000, 30000);
    }
}
