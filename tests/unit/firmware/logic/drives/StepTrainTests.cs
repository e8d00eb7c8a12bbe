// Tracking by the hardware's pulse train: accuracy, limits, and counters that lie.

using Hourhinge.Firmware.Control;
using Hourhinge.Firmware.Drives;
using Hourhinge.Firmware.Guards;
using Hourhinge.SharedMath.Profile;
using Hourhinge.SharedMath.Rig;
using Xunit.Abstractions;

namespace Hourhinge.Tests.Firmware.Logic.Drives;

public sealed class StepTrainTests(ITestOutputHelper output)
{
    // A straight M6 rod on 246 mm arms: 230 counts/s with 64 microsteps, 918 with 256.
    private static DriveProfile Profile(int microsteps) => Profile(microsteps, 200 * microsteps);

    private static DriveProfile Profile(int microsteps, int pullIn)
    {
        RigParameters rig = SiteRigs.Short();
        rig.Values[RigParameters.Microsteps] = microsteps;
        rig.Values[RigParameters.PullIn] = pullIn;
        rig.Values[RigParameters.Rewind] = pullIn;
        rig.Values[RigParameters.Ramp] = 1000 * microsteps;
        return SiteRigs.Compile(rig);
    }

    private static Bench Tracking(int microsteps, double passMs, bool wired = true)
    {
        var bench = new Bench(null, passMs, true) { HomeAt = 0 };
        bench.Motor.CountsPerPulse = wired ? 1 : 0;
        bench.Upload(Profile(microsteps));
        Assert.Null(bench.Controller.Start(false));
        bench.Run(3);
        Assert.Equal(ControllerState.Tracking, bench.Controller.State);
        return bench;
    }

    // Between two steps from now on, s; 1 where there are none.
    private static Func<double> ShortestInterval(Bench bench)
    {
        double last = double.NaN, shortest = 1;
        bench.Motor.StepMeasured = at =>
        {
            shortest = at > last ? Math.Min(shortest, at - last) : shortest;
            last = at;
        };
        return () => shortest;
    }

    [Theory]
    [InlineData(64, 10)]
    [InlineData(64, 50)]
    [InlineData(256, 10)]
    [InlineData(256, 30)]
    public void The_train_keeps_the_position_and_the_pull_in_rate(int microsteps, double passMs)
    {
        Bench bench = Tracking(microsteps, passMs);
        Func<double> shortest = ShortestInterval(bench);
        int starts = 0;
        long worst = 0;
        int changes = 0;
        int hertz = bench.Motor.TrainHertz;
        for (double until = bench.Clock.TrueSec + 100; bench.Clock.TrueSec < until;)
        {
            bench.Pass();
            starts += hertz == 0 ? 1 : 0;
            changes += hertz != bench.Motor.TrainHertz ? 1 : 0;
            hertz = bench.Motor.TrainHertz;
            worst = Math.Max(worst, Math.Abs(bench.Controller.CountsDue - bench.Motor.Microsteps));
        }

        output.WriteLine($"{microsteps} microsteps, passes of {passMs} ms: off by {worst} counts at most, {changes} "
            + $"changes of frequency, shortest interval {shortest() * 1e6:0} us");
        Assert.Equal(0, starts);
        Assert.InRange(int.Parse(bench.Ask("MOT:TRA?")), 1, 2 * hertz);
        Assert.True(worst <= 2 + (microsteps / 64), $"{worst} counts off");
        Assert.True(shortest() >= 1.0 / (200 * microsteps));
        Assert.Null(Stopped(bench));
    }

    // A motor that is hardly fast enough: the train catches up at its highest frequency, with single pulses around it.
    [Theory]
    [InlineData(10)]
    [InlineData(30)]
    public void Pulses_are_never_closer_than_the_pull_in_interval(double passMs)
    {
        var bench = new Bench(null, passMs, true) { HomeAt = 0 };
        bench.Upload(Profile(64, 320));
        Func<double> shortest = ShortestInterval(bench);
        int fastest = 0;
        Assert.Null(bench.Controller.Start(false));
        for (int i = 0; i < 8; i++)
        {
            bench.Run(2);
            bench.Controller.DitherCounts = i % 2 == 0 ? -40 : 30;
            bench.Run(4);
            fastest = Math.Max(fastest, bench.Motor.TrainHertz);
            bench.Controller.Abort();
            bench.Run(0.1);
            Assert.Null(bench.Controller.Start(true));
        }

        output.WriteLine($"passes of {passMs} ms: up to {fastest} Hz, shortest interval {shortest() * 1e6:0} us");
        Assert.InRange(fastest, 233, 236);
        Assert.True(shortest() >= 1.0 / 320, $"{shortest() * 1e6:0} us");
    }

    // ABORt: no pulse follows, and the position is exact.
    private static string? Stopped(Bench bench)
    {
        bench.Controller.Abort();
        long at = bench.Motor.Microsteps;
        bench.Run(1);
        return at != bench.Motor.Microsteps ? "pulses after ABORt"
            : bench.Controller.Drive.Position != at ? $"says {bench.Controller.Drive.Position}, stands at {at}"
            : bench.Controller.IsPositionKnown ? null : "position unknown";
    }

    [Theory]
    [InlineData(0, 0.2)]
    [InlineData(2, 0.2)]
    [InlineData(0.5, 0.2)]
    [InlineData(1.5, 0.2)]
    [InlineData(0.9, 2.2)]
    [InlineData(1.1, 2.2)]
    [InlineData(0.95, 2.2)]
    public void A_counter_that_lies_is_a_fault_within_a_few_readings(double countsPerPulse, double withinSec)
    {
        Bench bench = Tracking(64, 10);
        Assert.True(bench.Motor.TrainHertz > 200);
        double from = bench.Clock.TrueSec;
        bench.Motor.CountsPerPulse = countsPerPulse;
        bench.RunUntil(() => bench.Controller.State == ControllerState.Fault, withinSec);
        output.WriteLine($"{countsPerPulse} counts a pulse: fault after {bench.Clock.TrueSec - from:0.000} s");
        Assert.Equal(Fault.StepCount, bench.Controller.FaultReason);
        Assert.False(bench.Controller.IsPositionKnown);
        long at = bench.Motor.Microsteps;
        bench.Run(1);
        Assert.Equal(at, bench.Motor.Microsteps);

        // After a rewind it is noticed at the start again.
        Assert.Null(bench.Controller.Rewind());
        bench.RunUntil(() => bench.Controller.State == ControllerState.Idle, 200);
        Assert.Equal(0, bench.Motor.Microsteps);
        Assert.Null(bench.Controller.Start(false));
        bench.RunUntil(() => bench.Controller.State == ControllerState.Fault, 3);
        Assert.Equal(0, bench.Motor.TrainHertz);
    }

    [Fact]
    public void A_wire_that_comes_off_just_before_an_abort_leaves_no_known_position()
    {
        Bench bench = Tracking(256, 10);
        bench.Motor.CountsPerPulse = 0;
        bench.Pass(3);
        bench.Controller.Abort();
        Assert.Equal(ControllerState.Idle, bench.Controller.State);
        Assert.False(bench.Controller.IsPositionKnown);
        Assert.Null(bench.Controller.DeclarePosition(bench.Motor.Microsteps));
        bench.Controller.Abort();
        Assert.True(bench.Controller.IsPositionKnown);
    }

    [Fact]
    public void Without_a_wire_the_program_makes_the_pulses()
    {
        Bench bench = Tracking(64, 10, false);
        for (int i = 0; i < 1000; i++)
        {
            bench.Pass();
            Assert.Equal(0, bench.Motor.TrainHertz);
        }

        Assert.Equal(ControllerState.Tracking, bench.Controller.State);
        Assert.InRange(bench.Controller.CountsDue - bench.Motor.Microsteps, 0, 3);
        Assert.Null(Stopped(bench));
    }

    [Theory]
    [InlineData(4, 10)]
    [InlineData(64, 2)]
    public void Slow_rates_and_fast_loops_need_no_train(int microsteps, double passMs)
    {
        Bench bench = Tracking(microsteps, passMs);
        Assert.Equal(0, bench.Motor.TrainHertz);
        Assert.Null(Stopped(bench));
    }

    [Theory]
    [InlineData(64, 10)]
    [InlineData(256, 10)]
    [InlineData(256, 50)]
    public void A_closed_end_switch_stops_the_train_within_a_pass(int microsteps, double passMs)
    {
        Bench bench = Tracking(microsteps, passMs);
        for (int i = 1; i <= 20; i++)
        {
            long end = bench.Motor.Microsteps + (37 * i);
            bench.EndAt = end;
            int hertz = 0;
            for (int passes = 0; bench.Controller.State == ControllerState.Tracking && passes < 1000; passes++)
            {
                hertz = bench.Motor.TrainHertz;
                bench.Pass();
            }

            Assert.Equal(ControllerState.EndOfTravel, bench.Controller.State);
            Assert.InRange(bench.Motor.Microsteps, end, end + Math.Ceiling(1.01 * hertz * passMs / 1000) + 1);
            long at = bench.Motor.Microsteps;

            // Stuck closed: nothing moves forward any more.
            Assert.NotNull(bench.Controller.Start(false));
            bench.Run(0.5);
            Assert.Equal(at, bench.Motor.Microsteps);
            bench.EndAt = null;
            bench.Controller.Abort();
            Assert.Null(bench.Controller.DeclarePosition(at));
            Assert.Null(bench.Controller.Start(false));
            bench.RunUntil(() => bench.Motor.TrainHertz > 0, 2);
        }
    }

    [Fact]
    public void The_drive_itself_starts_and_continues_no_train_at_a_closed_switch()
    {
        Bench bench = Tracking(64, 10);
        MotorDrive drive = bench.Controller.Drive;
        bench.EndAt = bench.Motor.Microsteps;
        long due = (drive.Position + 5) << DriveProfile.FractionBits;
        for (int i = 0; i < 50; i++)
        {
            bench.Clock.AdvanceTo(bench.Clock.TrueUs + 10000);
            drive.Follow(due, 230 << DriveProfile.FractionBits, bench.Clock.NowMicroseconds);
            Assert.Equal(0, bench.Motor.TrainHertz);
            due += 2 << DriveProfile.FractionBits;
        }
    }

    [Fact]
    public void The_travel_ends_at_its_last_count_by_single_pulses()
    {
        Bench bench = Tracking(64, 10);
        long end = bench.Controller.EndCounts;
        bench.Controller.Abort();
        bench.Motor.Microsteps = end - 1500;
        Assert.Null(bench.Controller.DeclarePosition(end - 1500));
        Assert.Null(bench.Controller.Start(false));
        long lastByTrain = 0;
        while (bench.Controller.State == ControllerState.Tracking)
        {
            bench.Pass();
            lastByTrain = bench.Motor.TrainHertz > 0 ? bench.Motor.Microsteps : lastByTrain;
        }

        Assert.Equal(ControllerState.EndOfTravel, bench.Controller.State);
        Assert.InRange(bench.Motor.Microsteps, end, end + 1); // The end is a fraction of a count, and rounded.
        Assert.Equal(bench.Motor.Microsteps, bench.Controller.Drive.Position);
        Assert.InRange(lastByTrain, end - 1000, end - 100);
    }

    [Fact]
    public void Dither_back_and_a_resume_end_at_the_due_position()
    {
        Bench bench = Tracking(64, 10);
        bench.Controller.DitherCounts = -200;
        bench.Run(3);
        Assert.Equal(Fault.None, bench.Controller.FaultReason);
        Assert.InRange(bench.Controller.CountsDue - 200 - bench.Motor.Microsteps, -3, 3);
        bench.Controller.DitherCounts = 50;
        bench.Run(3);
        Assert.InRange(bench.Controller.CountsDue + 50 - bench.Motor.Microsteps, -3, 3);
        bench.Controller.Abort();
        bench.Run(20);
        Assert.Null(bench.Controller.Start(true));
        bench.Run(4);
        Assert.True(bench.Motor.TrainHertz > 0);
        Assert.InRange(bench.Controller.CountsDue - bench.Motor.Microsteps, -3, 3);
        Assert.Null(Stopped(bench));
    }

    [Fact]
    public void A_low_supply_stops_the_train_at_once()
    {
        var bench = new SiteBench(Profile(64), null, 0, null, 0, true);
        Assert.Null(bench.Controller.Start(false));
        bench.Run(3, 10);
        Assert.True(bench.Motor.TrainHertz > 200);
        bench.Pack.OpenCircuitVolts = _ => 3.9;
        bench.RunUntil(() => bench.Controller.State == ControllerState.Fault, 2, 10);
        Assert.Equal(0, bench.Motor.TrainHertz);
        Assert.Equal(bench.Motor.Microsteps, bench.Controller.Drive.Position);
        Assert.True(bench.Controller.IsPositionKnown);
    }

    // The counter fails in the last 50 ms: the stop notices it, and a counted way back would end anywhere.
    [Fact]
    public void A_rewind_that_finds_the_position_lost_does_not_count_its_way_back()
    {
        var bench = new Bench(null, 10, true);
        RigParameters rig = SiteRigs.Short(23, false);
        rig.Values[RigParameters.Microsteps] = 64;
        rig.Values[RigParameters.PullIn] = rig.Values[RigParameters.Rewind] = 12800;
        bench.Upload(SiteRigs.Compile(rig));
        Assert.Null(bench.Controller.DeclarePosition(0));
        Assert.Null(bench.Controller.Start(false));
        bench.Run(3);
        Assert.True(bench.Motor.TrainHertz > 0);
        bench.Motor.CountsPerPulse = 5;
        bench.Pass(2);
        Assert.Equal(ControllerState.Tracking, bench.Controller.State);
        Assert.Contains("position unknown", bench.Controller.Rewind(), StringComparison.Ordinal);
        bench.Run(5);
        Assert.Equal(ControllerState.Idle, bench.Controller.State);
        Assert.False(bench.Controller.IsPositionKnown);
    }

    [Fact]
    public void A_stop_in_the_pass_that_finds_the_counter_wrong_loses_the_position_once()
    {
        Bench bench = Tracking(64, 10);
        bench.Motor.CountsPerPulse = 5;
        bench.RunUntil(() => bench.Motor.TrainHertz == 0, 1);
        Assert.Equal(ControllerState.Tracking, bench.Controller.State);
        bench.Controller.Abort();
        Assert.False(bench.Controller.IsPositionKnown);
        Assert.Null(bench.Controller.DeclarePosition(100));
        bench.Controller.Abort();
        Assert.True(bench.Controller.IsPositionKnown);
    }
}
