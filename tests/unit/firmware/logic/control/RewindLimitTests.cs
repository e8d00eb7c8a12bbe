// HOURHINGE_LINK=1000000 rewinds from 1 000 positions with each damage; by default from 40.

using Hourhinge.Firmware.Control;
using Hourhinge.SharedMath.Profile;
using Hourhinge.Tests.SharedMath.Compile;
using Xunit.Abstractions;

namespace Hourhinge.Tests.Firmware.Logic.Control;

/// <summary>A rewind from a known position never goes farther beyond the travel than its margin.</summary>
public class RewindLimitTests(ITestOutputHelper output)
{
    private static readonly DriveProfile _profile = SampleDesigns.Compile(SampleDesigns.Bench());

    public enum Damage
    {
        None, HomeStuckOpen, HomeStuckClosed, HomeBounces, HomeBouncesAnywhere, EndStuckOpen, EndStuckClosed,
        EndBounces,
    }

    internal static int Positions => Environment.GetEnvironmentVariable("HOURHINGE_LINK") == "1000000" ? 1000 : 40;

    [Theory]
    [InlineData(Damage.None)]
    [InlineData(Damage.HomeStuckOpen)]
    [InlineData(Damage.HomeStuckClosed)]
    [InlineData(Damage.HomeBounces)]
    [InlineData(Damage.HomeBouncesAnywhere)]
    [InlineData(Damage.EndStuckOpen)]
    [InlineData(Damage.EndStuckClosed)]
    [InlineData(Damage.EndBounces)]
    public void A_rewind_stays_within_the_travel_and_its_margin(Damage damage)
    {
        long farthestBack = 0;
        long farthestForward = 0;
        int done = 0;
        long end = 0;
        long margin = 0;
        for (int i = 0; i < Positions; i++)
        {
            var random = new Random(i);
            Bench bench = Bench.WithProfile(_profile);
            bench.PassMs = random.Next(1, 50);
            end = bench.Controller.EndCounts;
            bench.EndAt = damage is Damage.EndStuckOpen ? null : end + 5;
            margin = (end / 8) + (2L * _profile.BackOffCounts);
            long at = end * i / (Positions - 1);
            bench.Motor.Microsteps = at;
            Assert.Null(bench.Controller.DeclarePosition(at));
            bench.Home.IsWireBroken = damage == Damage.HomeStuckOpen;
            bench.Home.IsHeld = damage == Damage.HomeStuckClosed;
            bench.End.IsHeld = damage == Damage.EndStuckClosed;
            bench.Controller.Rewind();
            double until = bench.Clock.TrueSec + 600;
            while (bench.Controller.IsMoving)
            {
                Assert.True(bench.Clock.TrueSec < until, $"position {at}: still rewinding after ten minutes");
                Bounce(bench, damage, random, end);
                bench.Pass();
                farthestBack = Math.Min(farthestBack, bench.Motor.Microsteps);
                farthestForward = Math.Max(farthestForward, bench.Motor.Microsteps);
            }

            done += bench.Controller.State == ControllerState.Idle ? 1 : 0;
        }

        output.WriteLine(
            $"{damage}: {Positions} positions, {done} complete, travel 0 to {end}, went from {farthestBack} "
            + $"to {farthestForward}, margin {margin}");
        Assert.InRange(farthestBack, -margin, 0);
        Assert.InRange(farthestForward, 0, end + margin);
        if (damage is Damage.None or Damage.EndStuckOpen)
        {
            Assert.Equal(Positions, done);
        }
    }

    private static void Bounce(Bench bench, Damage damage, Random random, long end)
    {
        switch (damage)
        {
            case Damage.HomeBounces:
                bench.HomeAt = random.Next(-3, 4);
                break;
            case Damage.HomeBouncesAnywhere:
                bench.Home.IsHeld = random.Next(4) == 0;
                break;
            case Damage.EndBounces:
                bench.EndAt = end + random.Next(-3, 4);
                break;
        }
    }

    [Fact]
    public void A_back_off_larger_than_the_travel_is_refused()
    {
        Bench bench = Bench.WithProfile(_profile);
        string crc = bench.Ask("PROF:CRC?");
        DriveProfile large = SampleDesigns.Blank("large");
        large.BackOffCounts = (int)bench.Controller.EndCounts + 1;
        bench.Upload(SampleDesigns.Compile(SampleDesigns.Bench(), large));
        Assert.StartsWith("-224,\"Illegal parameter value;eight back-offs", bench.Ask("SYST:ERR?"),
            StringComparison.Ordinal);
        Assert.Equal(crc, bench.Ask("PROF:CRC?"));
    }

    [Fact]
    public void After_a_switch_that_did_not_close_the_position_is_unknown()
    {
        Bench bench = Bench.WithProfile(_profile);
        bench.Motor.Microsteps = 300;
        bench.Tell("MOT:POS:DECL 300");
        bench.Home.IsWireBroken = true;
        bench.Tell("REW");
        bench.RunUntil(() => !bench.Controller.IsMoving, 60);
        Assert.False(bench.Controller.IsPositionKnown);
        bench.Home.IsWireBroken = false;
        bench.Motor.Microsteps = 300; // turned back by hand, as its stop would have held it
        bench.Tell("REW");
        bench.RunUntil(() => !bench.Controller.IsMoving, 60);
        Assert.Equal(ControllerState.Idle, bench.Controller.State);
    }
}
