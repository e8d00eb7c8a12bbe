using Hourhinge.Firmware.Control;
using Hourhinge.Firmware.Guards;
using Hourhinge.SharedMath.Compile;
using Hourhinge.SharedMath.Geometry;
using Hourhinge.SharedMath.Profile;
using Hourhinge.Tests.SharedMath.Compile;

namespace Hourhinge.Tests.Firmware.Logic.Control;

/// <summary>The way back to zero, with and without a home switch, and what can go wrong on it.</summary>
public class RewinderTests
{
    [Theory]
    [InlineData(1)]
    [InlineData(10)]
    [InlineData(20)]
    [InlineData(30)]
    [InlineData(50)]
    public void With_a_home_switch_zero_is_found_at_the_same_edge_from_a_known_position(double passMs)
    {
        Bench bench = Fast();
        bench.PassMs = passMs;
        bench.Motor.Microsteps = 20000;
        bench.Motor.Stops = (-200, 50000);
        bench.Tell("MOT:POS:DECL 20000");
        double began = bench.Clock.TrueSec;
        bench.Tell("REW");
        bench.AssertNoError();
        bench.RunUntil(() => !bench.Controller.IsMoving, 120);
        Assert.Equal("IDLE", bench.Ask("MOT:STAT?"));
        Assert.Equal("0", bench.Ask("MOT:POS?"));
        Assert.Equal(0, bench.Motor.Microsteps);
        Assert.Equal(0, bench.Motor.StopHits);

        // Counted at the pull-in rate of 400 it would take 50 s; the ramp to 2000 saves more than half of it.
        Assert.InRange(bench.Clock.TrueSec - began, 10, passMs < 30 ? 25 : 60);
    }

    [Fact]
    public void From_an_unknown_position_the_rewind_is_counted_and_finds_the_same_edge()
    {
        Bench bench = Fast();
        bench.Motor.Microsteps = 5000;
        bench.Controller.Fail(Fault.Stall, null);
        bench.Tell("REW");
        bench.AssertNoError();
        bench.RunUntil(() => !bench.Controller.IsMoving, 60);
        Assert.Equal((0, 0L), (bench.Controller.FaultReason, bench.Motor.Microsteps));
        Assert.True(bench.Controller.IsPositionKnown);
    }

    [Theory]
    [InlineData(2000)]
    [InlineData(-2500)]
    public void A_position_that_was_wrong_is_put_right_at_the_switch(int wrongBy)
    {
        Bench bench = Fast();
        bench.Motor.Microsteps = 20000;
        bench.Motor.Stops = (-300, 50000);
        bench.Tell($"MOT:POS:DECL {20000 + wrongBy}");
        bench.AssertNoError();
        bench.Tell("REW");
        bench.RunUntil(() => !bench.Controller.IsMoving, 120);
        Assert.Equal((0, 0L), (bench.Controller.FaultReason, bench.Motor.Microsteps));
        Assert.Equal(0, bench.Motor.StopHits);
    }

    [Fact]
    public void Without_a_home_switch_every_step_back_is_counted()
    {
        DriveProfile profile = SampleDesigns.Blank();
        profile.Flags = 0;
        Bench bench = Bench.WithProfile(SampleDesigns.Compile(SampleDesigns.Bench(), profile), homeAt: null);
        bench.Tell("REW");
        Assert.Contains("no home switch", bench.Ask("SYST:ERR?"), StringComparison.Ordinal);
        bench.Motor.Microsteps = 500;
        bench.Tell("MOT:POS:DECL 500");
        bench.Tell("REW");
        bench.RunUntil(() => !bench.Controller.IsMoving, 10);
        Assert.Equal((0L, 500L), (bench.Motor.Microsteps, bench.Motor.Pulses));
        Assert.Equal("IDLE", bench.Ask("MOT:STAT?"));
    }

    [Fact]
    public void A_switch_that_never_closes_ends_in_a_fault_and_not_in_a_motor_that_runs_for_ever()
    {
        Bench bench = Bench.WithProfile();
        bench.Motor.Microsteps = 500;
        bench.Tell("MOT:POS:DECL 500");
        bench.Home.IsWireBroken = true;
        bench.Tell("REW");
        bench.RunUntil(() => !bench.Controller.IsMoving, 60);
        Assert.Equal((ControllerState.Fault, Fault.HomeNotFound),
            (bench.Controller.State, bench.Controller.FaultReason));
        long pulses = bench.Motor.Pulses;
        bench.Run(10);
        Assert.Equal(pulses, bench.Motor.Pulses);
    }

    [Fact]
    public void A_switch_that_stays_closed_ends_in_a_fault_after_eight_back_offs()
    {
        Bench bench = Bench.WithProfile();
        bench.Home.IsHeld = true;
        bench.Tell("REW");
        bench.RunUntil(() => !bench.Controller.IsMoving, 30);
        Assert.Equal(Fault.HomeStuck, bench.Controller.FaultReason);
        // Eight back-offs of 20 counts: a hinge may have been pushed deep into its switch before the switch is called
        // stuck.
        Assert.Equal(160, bench.Motor.Microsteps);
        Assert.False(bench.Controller.IsPositionKnown);
    }

    [Fact]
    public void A_switch_that_opens_and_never_closes_again_ends_in_a_fault()
    {
        Bench bench = Bench.WithProfile();
        bench.Tell("REW");
        bench.RunUntil(() => bench.Motor.Microsteps > 5, 10);
        bench.Home.IsWireBroken = true;
        bench.RunUntil(() => !bench.Controller.IsMoving, 60);
        Assert.Equal(Fault.HomeNotFound, bench.Controller.FaultReason);
        Assert.True(bench.Motor.Microsteps > -1100);
    }

    [Fact]
    public void Abort_in_the_fast_leg_makes_the_position_unknown()
    {
        Bench bench = Fast();
        bench.Motor.Microsteps = 20000;
        bench.Tell("MOT:POS:DECL 20000");
        bench.Tell("REW");
        bench.Run(3);
        bench.Tell("ABOR");
        Assert.Equal("IDLE;9.91E37", bench.Ask("MOT:STAT?;POS?"));
        long at = bench.Motor.Microsteps;
        bench.Run(3);
        Assert.Equal(at, bench.Motor.Microsteps);
        Assert.InRange(at, 5000, 19500);
    }

    /// <summary>One false closing in mid-travel puts the count to zero; nothing may believe that zero.</summary>
    [Fact]
    public void Abort_after_a_switch_that_closed_falsely_makes_the_position_unknown()
    {
        Bench bench = Bench.WithProfile();
        bench.Motor.Microsteps = 5000;
        bench.Tell("MOT:POS:DECL 5000");
        bench.Tell("REW");
        bench.Run(0.5);
        bench.Home.IsHeld = true;
        bench.RunUntil(() => bench.Controller.Drive.Position < 100, 5);
        bench.Tell("ABOR");
        Assert.Equal("IDLE;9.91E37", bench.Ask("MOT:STAT?;POS?"));
        bench.Home.IsHeld = false;
        Assert.Contains("position", bench.Controller.Start(resume: false) ?? "", StringComparison.Ordinal);
    }

    [Fact]
    public void The_fast_leg_ramps_up_and_down_within_the_profile_s_limits()
    {
        Bench bench = Fast();
        bench.Motor.Microsteps = 20000;
        bench.Tell("MOT:POS:DECL 20000");
        bench.Tell("REW");
        double before = -1;
        double fastest = 0;
        double steepest = 0;
        long from = bench.Motor.Microsteps;
        while (bench.Controller.IsMoving && bench.Motor.Microsteps > 500)
        {
            bench.Run(0.1);
            double speed = (from - bench.Motor.Microsteps) / 0.1;
            from = bench.Motor.Microsteps;
            steepest = before < 0 ? 0 : Math.Max(steepest, Math.Abs(speed - before) / 0.1);
            fastest = Math.Max(fastest, speed);
            before = speed;
        }

        // Ramp 1000 steps/s². Speeds are measured over 0.1 s in whole steps, and the hand-over from pulse train to
        // counted steps loses up to a pass: together within 1000 steps/s². Without braking it would be over 12 000.
        Assert.InRange(fastest, 1900, 2060);
        Assert.InRange(steepest, 700, 2000);
    }

    // 22 000 counts of travel and a rewind that pays to be fast.
    private static Bench Fast()
    {
        DriveDesign design = new(
            new SwivelledRodHinge(290.27, 290.27, 0),
            AngleUnits.FromDeg(2),
            AngleUnits.FromDeg(9),
            SkyRate.SiderealRadPerSec,
            1.27,
            new GearTrain(800, 1));
        Bench bench = Bench.WithProfile(SampleDesigns.Compile(design));
        Assert.True(bench.Controller.EndCounts > 20000 + 2000, $"{bench.Controller.EndCounts}");
        return bench;
    }
}
