using Hourhinge.Calibration.Turns;
using Hourhinge.Numerics;
using Hourhinge.Rig;

namespace Hourhinge.Tests.Host.Calibration.Turns;

public class TurnsCalibrationTests
{
    private const double StepsPerSec = 150;

    private static readonly RigDescription _label =
        Synthetic.Rig("bent-m6-geared", ("gearbox = [[32, 9], [22, 11], [26, 9], [31, 10]]", "gearbox = [[64, 1]]"));

    // The wheels of the small geared stepper that is sold as 64:1 (common practice, no source): 25792/405.
    private const double TrueSteps = 52.0 / 17 * 25792 / 405 * 64;

    [Fact]
    public void A_label_that_is_believed_is_found_out()
    {
        TurnsResult r = Fit(_label, Synthetic.Turns(TrueSteps, StepsPerSec, 22, 0.2, new Random(1)));
        Assert.Equal(TurnsCause.ExactTeeth, r.Cause);
        Assert.Equal("[[32, 9], [22, 11], [26, 9], [31, 10]]", r.Slip!.Value);
        Assert.Equal("gearbox", r.Slip.Key);
        Assert.True(r.Assessment.IsTrusted, string.Join(' ', r.Assessment.Reasons));
        Assert.InRange(r.Ratio, (25792.0 / 405 / 64) - (4 * r.RatioSigma), (25792.0 / 405 / 64) + (4 * r.RatioSigma));
    }

    [Fact]
    public void A_true_64_is_told_from_the_geared_one()
    {
        TurnsResult r = Fit(Synthetic.Rig("bent-m6-geared"),
            Synthetic.Turns(52.0 / 17 * 64 * 64, StepsPerSec, 22, 0.2, new Random(2)));
        Assert.Equal("[[64, 1]]", r.Slip!.Value);
    }

    [Theory]
    [InlineData(59.0 / 60, "gear", "pairs", "[[59, 20]]")]
    [InlineData(20.0 / 21, "gear", "pairs", "[[60, 21]]")]
    [InlineData(2, "motor", "microsteps", "32")]
    [InlineData(1.0 / 9, "gear", "pairs", "[[20, 60]]")]
    public void A_miscounted_wheel_and_a_wrong_switch_are_found(double factor, string table, string key, string value)
    {
        TurnsResult r = Fit(Synthetic.Rig("straight-quarter-twenty"),
            Synthetic.Turns(9600 * factor, 320, 40, 0.2, new Random(3)), 320);
        Assert.Equal((table, key, value), (r.Slip!.Table, r.Slip.Key, r.Slip.Value));
        Assert.True(r.Assessment.IsTrusted, string.Join(' ', r.Assessment.Reasons));
    }

    // Allocation stands for cost, since it does not depend on what else the machine does.
    [Fact]
    public void The_cost_grows_linearly_with_the_readings()
    {
        RigDescription rig = Synthetic.Rig("straight-quarter-twenty");
        long Cost(int turns)
        {
            TurnReading[] all = Synthetic.Turns(9600, 320, turns + 1, 0.2, new Random(4));
            TurnReading[] missed = [.. all.Where((_, i) => i != turns / 2)
                .Select((r, i) => r with { NutTurns = i + 1 })];
            long before = GC.GetAllocatedBytesForCurrentThread();
            TurnsResult r = Fit(rig, missed, 320);
            Assert.Contains(r.Assessment.Reasons,
                s => s.Contains($"From line {missed[turns / 2].Line} on", StringComparison.Ordinal));
            return GC.GetAllocatedBytesForCurrentThread() - before;
        }

        Cost(100);
        Assert.InRange(Cost(9998) / (double)Cost(1000), 1, 20);
    }

    [Fact]
    public void A_ratio_between_the_teeth_is_a_measured_correction()
    {
        TurnsResult r = Fit(Synthetic.Rig("straight-quarter-twenty"),
            Synthetic.Turns(9600 * 1.0043, 160, 40, 0.2, new Random(4)), 160);
        Assert.Equal(TurnsCause.MeasuredRatio, r.Cause);
    }

    [Fact]
    public void A_deviation_of_crystal_size_is_the_clock()
    {
        TurnsResult r = Fit(Synthetic.Rig("straight-quarter-twenty"),
            Synthetic.Turns(9600 * 1.00015, 160, 120, 0.1, new Random(5)), 160);
        Assert.Equal(TurnsCause.Clock, r.Cause);
    }

    [Fact]
    public void A_file_that_is_right_stands()
    {
        TurnsResult r =
            Fit(Synthetic.Rig("straight-quarter-twenty"), Synthetic.Turns(9600, 160, 20, 0.2, new Random(6)), 160);
        Assert.Equal(TurnsCause.FileStands, r.Cause);
    }

    [Fact]
    public void A_late_press_is_named_by_its_line_and_left_out()
    {
        TurnReading[] readings = Synthetic.Turns(9600, 160, 20, 0.2, new Random(7));
        readings[8] = readings[8] with { Minutes = readings[8].Minutes + (3.0 / 60) };
        TurnsResult r = Fit(Synthetic.Rig("straight-quarter-twenty"), readings, 160);
        Assert.Equal([readings[8].Line], readings.Where((_, i) => r.IsOutlier[i]).Select(x => x.Line));
        Assert.True(r.Assessment.IsTrusted);
    }

    [Fact]
    public void A_turn_missed_in_counting_is_not_trusted_and_its_line_is_named()
    {
        TurnReading[] readings = [.. Synthetic.Turns(9600, 160, 20, 0.2, new Random(8))
            .Select((x, i) => i < 12 ? x : x with { NutTurns = x.NutTurns - 1 })];
        readings = [.. readings.Where((_, i) => i != 12)];
        TurnsResult r = Fit(Synthetic.Rig("straight-quarter-twenty"), readings, 160);
        Assert.Contains(r.Assessment.Reasons, x =>
            x.Contains($"From line {readings[12].Line} on the count looks one turn too low", StringComparison.Ordinal));
    }

    [Theory]
    [InlineData(4, 1.0, "Too few readings: 4 can be used; take at least 5.")]
    [InlineData(8, 12.0, "The count is too short for the stopwatch")]
    public void Too_few_and_too_short_are_told(int turns, double speedUp, string reason)
    {
        TurnsResult r = Fit(Synthetic.Rig("straight-quarter-twenty"),
            Synthetic.Turns(9600, 160 * speedUp, turns, 0.2, new Random(9)), 160 * speedUp);
        Assert.Contains(r.Assessment.Reasons, x => x.StartsWith(reason, StringComparison.Ordinal));
    }

    [Fact]
    public void A_drifting_rate_and_an_implausible_one_are_told()
    {
        RigDescription rig = Synthetic.Rig("straight-quarter-twenty");
        TurnReading[] drifting = [.. Synthetic.Turns(9600, 160, 30, 0.1, new Random(10))
            .Select(x => x with { Minutes = x.Minutes * (1 + (x.Minutes * 3e-4)) })];
        Assert.Contains(Fit(rig, drifting, 160).Assessment.Reasons,
            x => x.Contains("not random", StringComparison.Ordinal));
        TurnsResult odd = Fit(rig, Synthetic.Turns(9600 * 1.37, 160, 30, 0.2, new Random(11)), 160);
        Assert.Contains(odd.Assessment.Reasons, x => x.StartsWith("A ratio of 1.37", StringComparison.Ordinal));
    }

    // Wald and Wolfowitz's distribution: with 5 above and 5 below, 2 runs have 2 of 252 ways, 3 runs 8 more.
    [Fact]
    public void Runs_have_their_exact_chances()
    {
        Assert.Equal(2.0 / 252, ResidualTests.FewRuns([1, 1, 1, 1, 1, -1, -1, -1, -1, -1]), 12);
        Assert.Equal(10.0 / 252, ResidualTests.FewRuns([1, 1, -1, -1, -1, -1, -1, 1, 1, 1]), 12);
        Assert.Equal(1, ResidualTests.FewRuns([1, -1, 1, -1, 1, -1]), 12);
    }

    [Fact]
    public void A_speed_table_gives_line_dead_band_and_break_away()
    {
        var random = new Random(12);
        var readings = new List<SpeedReading>();
        foreach (int duty in new[] { 5, 10, 15, 20, 30, 40, 50, 60, 70, 80, 90, 100, 16, 13 })
        {
            double volt = duty / 100.0 * 12;
            bool atRest = duty is 5 or 10 or 15;
            readings.Add(new SpeedReading(readings.Count + 2, duty, 12, atRest
                ? 0
                : (2.4 * (volt - 1.2)) + Synthetic.Normal(random, 0.1)));
        }

        readings[7] = readings[7] with { TurnsPerMin = readings[7].TurnsPerMin + 4 };
        SpeedCurveFit c = SpeedCurveFit.Fit(readings, 0.5);
        Assert.True(c.Assessment.IsTrusted, string.Join(' ', c.Assessment.Reasons));
        Assert.InRange(c.TurnsPerMinPerV, 2.4 - (4 * c.TurnsPerMinPerVSigma), 2.4 + (4 * c.TurnsPerMinPerVSigma));
        Assert.InRange(c.DeadBandV, 1.2 - (4 * c.DeadBandVSigma), 1.2 + (4 * c.DeadBandVSigma));
        Assert.Equal((1.8, 1.92, 1.56),
            (Math.Round(c.BreakAwayMinV, 6), Math.Round(c.BreakAwayMaxV, 6), Math.Round(c.MinRunningV, 6)));
        Assert.Equal([9], readings.Where((_, i) => c.IsOutlier[i]).Select(x => x.Line));
        Assert.Equal(c.Curve.Select(p => p.TurnsPerMin), c.Curve.Select(p => p.TurnsPerMin).Order());
        Assert.All(c.AtSupply(12), p => Assert.InRange(p.DutyPercent, 13, 100));
    }

    private static TurnsResult Fit(RigDescription rig, TurnReading[] readings, double stepsPerSec = StepsPerSec)
    {
        double perTurn = RigDrive.Design(rig).CountsPerNutTurn.Ratio;
        return TurnsCalibration.Fit(rig, readings, sec => sec * stepsPerSec / perTurn, 0.2);
    }
}
