// HOURHINGE_LINK=1000000 rewinds from 1 000 positions with each damage and drive; by default from 6.

using Hourhinge.Firmware.Control;
using Hourhinge.SharedMath.Profile;
using Xunit.Abstractions;
using static Hourhinge.Tests.Firmware.Logic.Control.RewindLimitTests;

namespace Hourhinge.Tests.Firmware.Logic.Drives;

/// <summary>A DC motor's rewind from a known position never goes farther beyond the travel than its margin.</summary>
public sealed class DcRewindLimitTests(ITestOutputHelper output)
{
    private const double TravelTurns = 6;
    private const double LongestMm = 18 + TravelTurns; // 1 mm of rod a turn.
    private const double BackOffTurns = 0.5;

    // A DC motor does not stop on a count: what it still turns after the last pass before the limit.
    private const double CoastTurns = 0.1;

    private static readonly DriveProfile[] _profiles =
    [
        DcFixture.ClosedLoop(DriveProfile.HomeSwitchFitted | DriveProfile.EndSwitchFitted, null, LongestMm),
        DcFixture.OpenLoop(DriveProfile.HomeSwitchFitted | DriveProfile.EndSwitchFitted, LongestMm),
    ];

    public static TheoryData<bool, Damage> Cases
    {
        get
        {
            TheoryData<bool, Damage> cases = [];
            foreach (Damage damage in Enum.GetValues<Damage>())
            {
                cases.Add(true, damage);
                cases.Add(false, damage);
            }

            return cases;
        }
    }

    [Theory]
    [MemberData(nameof(Cases))]
    public void A_rewind_stays_within_the_travel_and_its_margin(bool encoder, Damage damage)
    {
        int positions = Positions == 1000 ? 1000 : 6;
        double back = 0;
        double forward = 0;
        int done = 0;
        double margin = (TravelTurns / (encoder ? 8 : 4)) + (2 * BackOffTurns) + CoastTurns;
        DriveProfile profile = _profiles[encoder ? 0 : 1];
        for (int i = 0; i < positions; i++)
        {
            var random = new Random(i);
            var bench = new DcBench(profile, encoder, TravelTurns + 0.01);
            double at = TravelTurns * i / (positions - 1);
            bench.Motor.SetNutTurns(at);
            Assert.Null(bench.Controller.DeclarePosition((long)(bench.Controller.EndCounts * at / TravelTurns)));
            bench.Home.IsWireBroken = damage == Damage.HomeStuckOpen;
            bench.Home.IsHeld = damage == Damage.HomeStuckClosed;
            bench.End.IsWireBroken = damage == Damage.EndStuckOpen;
            bench.End.IsHeld = damage == Damage.EndStuckClosed;
            bench.Controller.Rewind();
            double passMs = random.Next(2, 21);
            double until = bench.Clock.TrueSec + 3600;
            while (bench.Controller.IsMoving)
            {
                Assert.True(bench.Clock.TrueSec < until, $"position {at}: still rewinding after an hour");
                Bounce(bench, damage, random);
                bench.Run(passMs / 1000, passMs);
                back = Math.Min(back, bench.Motor.NutTurns);
                forward = Math.Max(forward, bench.Motor.NutTurns);
            }

            done += bench.Controller.State == ControllerState.Idle ? 1 : 0;
        }

        output.WriteLine(
            $"{damage}, {(encoder ? "encoder" : "open loop")}: {positions} positions, {done} complete, travel "
            + $"0 to {TravelTurns} turns, went from {back:0.000} to {forward:0.000}, margin {margin:0.000}");
        Assert.InRange(back, -margin, 0);
        Assert.InRange(forward, 0, TravelTurns + margin);
        if (damage is Damage.None or Damage.EndStuckOpen)
        {
            Assert.Equal(positions, done);
        }
    }

    private static void Bounce(DcBench bench, Damage damage, Random random)
    {
        switch (damage)
        {
            case Damage.HomeBounces:
                bench.HomeAtTurns = (random.NextDouble() - 0.5) / 50;
                break;
            case Damage.HomeBouncesAnywhere:
                bench.Home.IsHeld = random.Next(4) == 0;
                break;
            case Damage.EndBounces:
                bench.EndAtTurns = TravelTurns + ((random.NextDouble() - 0.5) / 50);
                break;
        }
    }
}
