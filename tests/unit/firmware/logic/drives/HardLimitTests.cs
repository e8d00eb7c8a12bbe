// The drives themselves stop at a closed limit switch, whatever the controller asks for.

using Hourhinge.Firmware.Drives;
using Hourhinge.Firmware.Guards;
using Hourhinge.Rehearsal.Board;
using Hourhinge.SharedMath.Profile;
using Hourhinge.Tests.SharedMath.Compile;

namespace Hourhinge.Tests.Firmware.Logic.Drives;

public sealed class HardLimitTests
{
    private const int Switches = DriveProfile.HomeSwitchFitted | DriveProfile.EndSwitchFitted;

    // A late update makes up to 16 pulses. The switch closes in the middle of them.
    [Theory]
    [InlineData(1)]
    [InlineData(-1)]
    public void No_pulse_follows_a_switch_that_closes_between_two_pulses_of_one_update(int direction)
    {
        var clock = new VirtualClock(0, 2);
        var motor = new VirtualStepper(clock);
        var home = new VirtualInput(() => motor.Microsteps <= -5);
        var end = new VirtualInput(() => motor.Microsteps >= 5);
        var limits = new LimitSwitches(home, end);
        var drive = new StepperDrive(motor, null, clock, limits);
        DriveProfile profile = SampleDesigns.Compile(SampleDesigns.Bench());
        profile.Flags |= Switches;
        limits.Configure(profile);
        drive.Configure(profile);
        drive.Engage(0);
        clock.AdvanceTo(1e6);

        drive.MoveToward(direction * 100, profile.PullInCountsPerSec, clock.NowMicroseconds);
        Assert.Equal(5 * direction, motor.Microsteps);
        Assert.Equal(5 * direction, drive.Position);
        clock.AdvanceTo(2e6);
        drive.MoveToward(direction * 100, profile.PullInCountsPerSec, clock.NowMicroseconds);
        Assert.Equal(5, motor.Pulses);

        // The other way is free.
        clock.AdvanceTo(3e6);
        drive.MoveToward(0, profile.PullInCountsPerSec, clock.NowMicroseconds);
        Assert.Equal(0, motor.Microsteps);
    }

    [Theory]
    [InlineData(true, false)]
    [InlineData(true, true)]
    [InlineData(false, false)]
    [InlineData(false, true)]
    public void A_dc_motor_gets_no_duty_toward_a_closed_switch(bool closedLoop, bool forward)
    {
        var bench = new DcBench(
            closedLoop ? DcFixture.ClosedLoop(Switches) : DcFixture.OpenLoop(Switches), closedLoop);
        bench.Motor.SetNutTurns(20);
        MotorDrive drive = bench.Controller.Drive;
        drive.Engage(bench.Clock.NowMicroseconds);
        Move(bench, forward);
        Assert.Equal(forward ? 1 : -1, Math.Sign(bench.Motor.Duty));

        (forward ? bench.End : bench.Home).IsHeld = true;
        Move(bench, forward);
        Assert.Equal(0, bench.Motor.Duty);

        // The other way is free.
        Move(bench, !forward);
        Assert.Equal(forward ? -1 : 1, Math.Sign(bench.Motor.Duty));
    }

    private static void Move(DcBench bench, bool forward)
    {
        MotorDrive drive = bench.Controller.Drive;
        for (int i = 0; i < 20; i++)
        {
            drive.MoveToward(
                drive.Position + (forward ? 5000 : -5000), bench.Profile.PullInCountsPerSec,
                bench.Clock.NowMicroseconds);
            bench.Clock.AdvanceTo(bench.Clock.TrueUs + 5000);
        }
    }
}
