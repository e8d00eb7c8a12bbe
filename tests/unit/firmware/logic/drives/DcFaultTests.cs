// What a DC drive does when something is wrong, and that it does nothing odd when nothing is.

using Hourhinge.Firmware.Control;
using Hourhinge.Firmware.Drives;
using Hourhinge.Firmware.Guards;
using Hourhinge.Firmware.Protocol;
using Hourhinge.Firmware.Scpi;
using Hourhinge.Firmware.Storage;
using Hourhinge.SharedMath.Profile;
using Xunit.Abstractions;

namespace Hourhinge.Tests.Firmware.Logic.Drives;

public sealed class DcFaultTests(ITestOutputHelper output)
{
    private const int Switches = DriveProfile.HomeSwitchFitted | DriveProfile.EndSwitchFitted;

    [Theory]
    [InlineData(true, false)]
    [InlineData(false, true)]
    public void A_rotor_that_does_not_count_is_a_stall(bool jammed, bool encoderDead)
    {
        var bench = new DcBench(DcFixture.ClosedLoop());
        bench.Start();
        bench.Run(30);
        bench.Motor.IsJammed = jammed;
        bench.Motor.IsEncoderDead = encoderDead;
        bench.Run(5);
        Assert.Equal(ControllerState.Fault, bench.Controller.State);
        Assert.Equal(Fault.Stall, bench.Controller.FaultReason);
        Assert.Equal(0, bench.Motor.Duty);
        Assert.False(bench.Controller.IsPositionKnown);
    }

    [Fact]
    public void An_encoder_that_counts_backward_is_found_before_it_runs_away()
    {
        var bench = new DcBench(DcFixture.ClosedLoop());
        bench.Motor.IsEncoderReversed = true;
        bench.Start();
        bench.Run(5);
        Assert.Equal(Fault.EncoderReversed, bench.Controller.FaultReason);
        Assert.InRange(bench.Motor.NutTurns, 0, 0.1);
    }

    [Fact]
    public void A_reversed_motor_tracks_as_well_as_a_straight_one()
    {
        var bench = new DcBench(DcFixture.ClosedLoop(DriveProfile.MotorReversed));
        bench.Start();
        bench.Run(60);
        Assert.Equal(ControllerState.Tracking, bench.Controller.State);
        Assert.InRange(bench.Motor.NutTurns, -1.05, -0.95);
    }

    [Fact]
    public void A_low_pack_stops_the_drive_but_keeps_the_position()
    {
        var bench = new DcBench(DcFixture.ClosedLoop());
        bench.Start();
        bench.Run(10);
        bench.Pack.OpenCircuitVolts = _ => 3.9;
        bench.Run(3);
        Assert.Equal(Fault.SupplyLow, bench.Controller.FaultReason);
        Assert.True(bench.Controller.IsPositionKnown);
        bench.Controller.Abort();
        Assert.NotNull(bench.Controller.Start(false));
        bench.Pack.OpenCircuitVolts = _ => 5.0;
        bench.Run(3);
        Assert.Null(bench.Controller.Start(false));
    }

    [Fact]
    public void A_short_current_peak_is_no_empty_pack()
    {
        var bench = new DcBench(DcFixture.ClosedLoop());
        bench.Start();
        double from = bench.Clock.TrueSec + 5;
        bench.Pack.OpenCircuitVolts = t => t > from && t < from + 0.05 ? 3.5 : 5.0;
        bench.Run(10);
        Assert.Equal(ControllerState.Tracking, bench.Controller.State);
    }

    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public void Rewinds_to_the_home_switch_and_finds_zero_there(bool closedLoop)
    {
        var bench = new DcBench(
            closedLoop ? DcFixture.ClosedLoop(Switches) : DcFixture.OpenLoop(Switches), closedLoop);
        bench.Motor.SetNutTurns(3.2);
        bench.Run(0.1);
        Assert.Null(bench.Controller.Rewind());
        bench.RunUntilAtRest(300);
        Assert.Equal(ControllerState.Idle, bench.Controller.State);
        Assert.True(bench.Controller.IsPositionKnown);
        bench.Run(1);
        output.WriteLine(
            $"{(closedLoop ? "closed" : "open")} loop: after the rewind the nut stands at "
            + $"{bench.Motor.NutTurns * 360:0.00} degrees");
        Assert.InRange(bench.Motor.NutTurns, -0.02, 0.0);
    }

    [Fact]
    public void A_single_transistor_cannot_rewind_and_says_so()
    {
        var bench = new DcBench(DcFixture.OpenLoop(DriveProfile.ForwardOnly), false);
        bench.Start();
        bench.Run(30);
        bench.Controller.Abort();
        Assert.Contains("cannot run backward", bench.Controller.Rewind(), StringComparison.Ordinal);
        Assert.Contains("cannot run backward", bench.Controller.Jog(-100), StringComparison.Ordinal);
    }

    [Fact]
    public void At_the_sky_rate_the_closed_loop_neither_stops_nor_hunts()
    {
        var bench = new DcBench(DcFixture.ClosedLoop());
        bench.Start();
        bench.Run(60);
        double least = 1;
        double most = 0;
        double slowest = 1e9;
        double before = bench.Motor.RotorTurns;
        for (int i = 0; i < 600; i++)
        {
            bench.Run(0.1);
            least = Math.Min(least, bench.Motor.Duty);
            most = Math.Max(most, bench.Motor.Duty);
            double now = bench.Motor.RotorTurns;
            slowest = Math.Min(slowest, (now - before) / 0.1);
            before = now;
        }

        double rate = DcFixture.Design(DcFixture.Motor).CountsPerSecAt(0) / DcFixture.Motor.CountsPerRotorTurn;
        output.WriteLine(
            $"duty {least:0.0000} to {most:0.0000}; slowest tenth of a second {slowest / rate:0.000} of the rate");
        Assert.True(least > 0.8 * most);
        Assert.True(slowest > 0.9 * rate);
    }

    [Fact]
    public void Ends_at_the_end_of_the_travel()
    {
        var bench = new DcBench(DcFixture.ClosedLoop());
        long end = bench.Controller.EndCounts;
        bench.Motor.SetNutTurns((end / 70000.0) - 0.3);
        Assert.Null(bench.Controller.DeclarePosition(end - 21000));
        Assert.Null(bench.Controller.Start(false));
        bench.RunUntilAtRest(60);
        Assert.Equal(ControllerState.EndOfTravel, bench.Controller.State);
        Assert.InRange(bench.Motor.NutTurns * 70000, end - 100, end + 100);
    }

    [Fact]
    public void A_profile_for_a_motor_that_is_not_fitted_is_refused()
    {
        var bench = new DcBench(DcFixture.OpenLoop(), false);
        var errors = new ScpiErrors();
        byte[] bytes = ProfileCodec.Encode(DcFixture.ClosedLoop());
        ProfileStore store = bench.Machine.Store;
        DriveChooser chooser = Assert.IsType<DriveChooser>(bench.Controller.Drive);
        Assert.False(new ProfileChange(bench.Controller, store, chooser, bench.Machine.Shutter, new BoardLimits())
            .Replace(bytes, 0, bytes.Length, [], errors));
        Assert.StartsWith($"{ScpiErrors.HardwareMissing},", errors.Dequeue(), StringComparison.Ordinal);
        Assert.Equal(DriveProfile.DcOpenLoop, bench.Controller.Profile.DriveKind);
    }
}
