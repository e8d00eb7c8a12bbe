// The virtual board must be as unkind as a real one, or what passes on it proves nothing.

using Hourhinge.Rehearsal.Board;
using Hourhinge.Rehearsal.Mechanisms;

namespace Hourhinge.Tests.Host.Rehearsal;

public class VirtualBoardTests
{
    [Fact]
    public void A_power_cut_tears_the_byte_in_hand_and_writes_nothing_after_it()
    {
        VirtualFlash flash = new() { CutAfterBytes = 3, PartialByte = 0x77 };
        Assert.Throws<PowerCutException>(() => flash.Write(1, 10, [1, 2, 3, 4, 5], 0, 5));
        byte[] read = new byte[6];
        Assert.Equal(6, flash.Read(1, 10, read, 0, 6));
        Assert.Equal([1, 2, 3, 0x77, 0xFF, 0xFF], read);
        Assert.Throws<PowerCutException>(() => flash.Write(0, 0, [1], 0, 1));
        Assert.True(flash.Copy().Write(0, 0, [1], 0, 1));
    }

    [Fact]
    public void Worn_out_flash_and_writes_past_the_end_are_refused()
    {
        Assert.False(new VirtualFlash { IsWornOut = true }.Write(0, 0, [1], 0, 1));
        Assert.False(new VirtualFlash(16).Write(0, 15, [1, 2], 0, 2));
        Assert.Equal(1, new VirtualFlash(16).Read(0, 15, new byte[4], 0, 4));
    }

    [Fact]
    public void Pulses_beyond_pull_in_are_lost()
    {
        VirtualClock clock = new();
        VirtualStepper motor = new(clock, fastestPulsesPerSec: 500);
        motor.SetEnabled(true);
        for (int i = 1; i <= 10; i++)
        {
            clock.AdvanceTo(i * 1900);
            motor.Pulse();
        }

        Assert.Equal((10L, 9L, 1L), (motor.Pulses, motor.LostPulses, motor.Microsteps));
        for (int i = 1; i <= 10; i++)
        {
            clock.AdvanceTo(100000 + (i * 2001));
            motor.Pulse();
        }

        Assert.Equal(11, motor.Microsteps);
    }

    [Fact]
    public void Coils_that_are_let_go_do_not_step_and_a_stop_is_not_passed()
    {
        VirtualClock clock = new();
        VirtualStepper motor = new(clock) { Stops = (-1, 5) };
        clock.AdvanceTo(1000);
        motor.Pulse();
        Assert.Equal((0L, 1L), (motor.Microsteps, motor.LostPulses));
        motor.SetEnabled(true);
        motor.SetDirection(false);
        for (int i = 0; i < 3; i++)
        {
            clock.AdvanceTo(2000 + (i * 1000));
            motor.Pulse();
        }

        Assert.Equal((-1L, 2), (motor.Microsteps, motor.StopHits));
    }

    [Fact]
    public void A_pulse_train_makes_its_hertz_in_true_time()
    {
        VirtualClock clock = new();
        VirtualStepper motor = new(clock);
        motor.SetEnabled(true);
        motor.SetDirection(true);
        motor.RunAtHertz(333);
        clock.AdvanceTo(10e6);
        motor.RunAtHertz(0);
        clock.AdvanceTo(20e6);
        motor.UpdateRun();

        // The timer's divider is 469/256 of 2^17 cycles of 80 MHz: 333.155 Hz.
        Assert.Equal(3331, motor.Microsteps);
    }

    [Fact]
    public void A_fast_crystal_gains_its_parts_per_million()
    {
        VirtualClock clock = new(crystalErrorPpm: 50);
        clock.AdvanceTo(3600e6);
        Assert.Equal(0.18, (clock.NowMicroseconds * 1e-6) - clock.TrueSec, 0.0001);
        clock.AdvanceTo(0);
        Assert.True(clock.TrueSec >= 3600);
    }

    [Fact]
    public void A_share_of_steps_is_lost_on_request()
    {
        VirtualClock clock = new();
        VirtualStepper motor = new(clock, lostStepsPerThousand: 20);
        motor.SetEnabled(true);
        for (int i = 1; i <= 20000; i++)
        {
            clock.AdvanceTo(i * 1000.0);
            motor.Pulse();
        }

        Assert.InRange(motor.LostPulses, 340, 460);
        Assert.Equal(20000, motor.LostPulses + motor.Microsteps);
    }

    [Fact]
    public void A_peer_that_does_not_read_fills_up()
    {
        ByteQueueLink link = new() { PeerBufferBytes = 3 };
        Assert.Equal(2, link.Write([1, 2], 0, 2));
        Assert.Equal(1, link.Write([3, 4], 0, 2));
        Assert.Equal(0, link.Write([4], 0, 1));
        Assert.Equal([1, 2, 3], link.Receive());
        link.Send([9, 8]);
        byte[] got = new byte[5];
        Assert.Equal(2, link.Read(got, 1, 4));
        Assert.Equal([0, 9, 8, 0, 0], got);
    }

    // A ball of radius r on a line at distance d from the origin, by hand: at θ = 0 it stands at s = -d.
    [Theory]
    [InlineData(200, 12, 0)]
    [InlineData(200, 12, 4)]
    [InlineData(200, -12, 4)]
    public void A_tip_on_a_closed_hinge_stands_as_far_below_the_axis_as_the_surface(double radius, double offset,
        double tip) =>
        Assert.Equal(0, new TipLinkage(radius, offset, tip).AngleRad(-offset), 1e-10);

    // Right triangle 3-4-5: arms 30 and 40 at 90 degrees are spanned by a rod of 50.
    [Fact]
    public void Arms_of_30_and_40_are_square_at_a_rod_of_50() =>
        Assert.Equal(Math.PI / 2, new SwivelledLinkage(30, 40, 0).AngleRad(50), 1e-10);

    // A rod bent to half a circle over a chord of 50 is 25π long.
    [Fact]
    public void A_bent_rod_is_measured_along_its_bend() =>
        Assert.Equal(Math.PI / 2, new SwivelledLinkage(30, 40, 25).AngleRad(25 * Math.PI), 1e-6);
}
