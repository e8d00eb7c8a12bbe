// Stopped frames, two-frame answers and whole runs against TurningSky's truth; coverage of the stated intervals.
using Hourhinge.Calibration;
using Hourhinge.Calibration.Orientation;
using Hourhinge.Calibration.Stars;
using Hourhinge.Frames.Matching;
using Hourhinge.Frames.Reading;
using Hourhinge.Numerics;
using Xunit.Abstractions;

namespace Hourhinge.Tests.Host.Calibration.Stars;

public sealed class CalibrationTests(ITestOutputHelper output)
{
    private const double Degree = Math.PI / 180;
    private static readonly DateTime _start = new(2025, 1, 31, 21, 0, 0, DateTimeKind.Utc);

    [Theory]
    [InlineData(30, 25, false)]
    [InlineData(-35, 160, false)]
    [InlineData(55, -70, true)]
    public void Trails_of_the_stopped_drive_give_scale_and_direction(double declination, double roll, bool mirrored)
    {
        var truth = new TurningSky(declination, 20, seed: 3, starCount: 250, rollDeg: roll,
            mirrored: mirrored)
        { Stopped = true };
        StoppedResult result = StoppedSky.FromTrails(truth.Trails(0, 30, 0.1), 30, declination * Degree, mirrored)!;
        output.WriteLine(
            $"focal {result.FocalLengthPx.Value:F1} ± {result.FocalLengthPx.Half95:F1} (12820), west off "
            + $"{Math.IEEERemainder(result.WestAngleRad.Value - truth.WestAngle, 2 * Math.PI) / Degree:F4} ± "
            + $"{result.WestAngleRad.Half95 / Degree:F4} deg, arrow {result.DirectionKnown}");
        Assert.True(result.Assessment.IsTrusted, string.Join(" ", result.Assessment.Reasons));
        Assert.True(result.DirectionKnown);
        Assert.InRange(result.FocalLengthPx.Value / truth.Focal, 0.999, 1.001);
        Assert.InRange(Math.IEEERemainder(result.WestAngleRad.Value - truth.WestAngle, 2 * Math.PI), -0.05 * Degree,
            0.05 * Degree);
        Assert.InRange(Math.Abs(result.FocalLengthPx.Value - truth.Focal) / result.FocalLengthPx.Sigma, 0, 4);
    }

    [Theory]
    [InlineData(30, false)]
    [InlineData(30, true)]
    [InlineData(-45, true)]
    public void A_mirror_image_is_noticed_and_the_sky_taken_the_right_way_round(double declination, bool mirrored)
    {
        var truth = new TurningSky(declination, 10, seed: 6, starCount: 250, mirrored: mirrored) { Stopped = true };
        RunFrame[] frames = [StoppedAt(truth, 0), StoppedAt(truth, 35)];
        StoppedResult right = StoppedRun.Of(frames, declination * Degree, mirrored)!;
        Assert.True(right.Assessment.IsTrusted, string.Join(" ", right.Assessment.Reasons));
        Assert.InRange(Math.IEEERemainder(right.WestAngleRad.Value - truth.WestAngle, 2 * Math.PI), -0.05 * Degree,
            0.05 * Degree);
        StoppedResult wrong = StoppedRun.Of(frames, declination * Degree, !mirrored)!;
        Assert.Contains(wrong.Assessment.Reasons, r => r.Contains("mirror image", StringComparison.Ordinal));
    }

    private static StoppedResult Known(TurningSky truth) => new(new SkyOnSensor(truth.WestAngle, truth.Focal),
        new Estimate(truth.Focal, 0, 0), new Estimate(truth.WestAngle, 0, 0), true, 100, 0,
        new CalibrationAssessment([]));

    private static RunFrame StoppedAt(TurningSky truth, double t) =>
        new(new FrameInfo($"s{t}", _start.AddSeconds(t - 15), 1, 30, null, null), truth.Trails(t, 30, 0.1));

    // Six degrees by four on the equator: the trails are all but parallel, and only the second frame tells west from
    // east.
    [Fact]
    public void Two_stopped_frames_tell_west_from_east_where_trails_do_not()
    {
        var truth =
            new TurningSky(0, 0, seed: 9, starCount: 120, rollDeg: 25, width: 1230, height: 820) { Stopped = true };
        RunFrame[] frames = [StoppedAt(truth, 0), StoppedAt(truth, 35)];
        StoppedResult one = StoppedRun.Of([frames[0]], 0)!;
        Assert.Contains(one.Assessment.Reasons, r => r.Contains("west from east", StringComparison.Ordinal));
        StoppedResult two = StoppedRun.Of(frames, 0)!;
        Assert.True(two.Assessment.IsTrusted, string.Join(" ", two.Assessment.Reasons));
        Assert.InRange(Math.IEEERemainder(two.WestAngleRad.Value - truth.WestAngle, 2 * Math.PI), -0.1 * Degree,
            0.1 * Degree);
    }

    [Fact]
    public void Scale_from_trails_holds_its_interval()
    {
        int held = 0;
        double pull = 0;
        for (int k = 0; k < 60; k++)
        {
            var truth = new TurningSky(-35, 0, seed: 900 + k, starCount: 80, rollDeg: 160) { Stopped = true };
            StoppedResult result = StoppedSky.FromTrails(truth.Trails(0, 30, 0.1), 30, -35 * Degree)!;
            held += result.FocalLengthPx.Contains(truth.Focal) ? 1 : 0;
            pull += (result.FocalLengthPx.Value - truth.Focal) / result.FocalLengthPx.Sigma / 60;
        }
        output.WriteLine($"held {held} of 60, mean pull {pull:F2}");
        // Binomial at 1 %: 52 or more of 60 are consistent with 95 %.
        Assert.InRange(held, 52, 60);
    }

    [Fact]
    public void Trail_lengths_follow_the_rate_times_cosine_of_declination()
    {
        // 15.041067 arcsec/s (IERS Conventions 2010 nominal rate) times cos 40 degrees times 30 s, at the frame's
        // centre.
        var truth = new TurningSky(40, 0, seed: 8, starCount: 2) { Stopped = true };
        DriftSample sample0 = truth.Sample(0, -15, 0.001, 0, 1e-9, 0);
        DriftSample sample1 = truth.Sample(1, 15, 0.001, 0, 1e-9, 0);
        double px = Math.Sqrt(Math.Pow(sample1.ShiftXPx - sample0.ShiftXPx, 2)
            + Math.Pow(sample1.ShiftYPx - sample0.ShiftYPx, 2));
        Assert.Equal(15.041067 * Math.Cos(40 * Degree) * 30, px * 206264.806 / truth.Focal, 2);
    }

    [Theory]
    [InlineData(false)]
    [InlineData(true)]
    public void Two_stopped_frames_give_scale_from_times_alone_and_catch_a_wrong_declination(bool mirrored)
    {
        var truth = new TurningSky(35, -30, seed: 5, mirrored: mirrored) { Stopped = true };
        (IReadOnlyList<StarPair> Pairs, FieldMotion Motion) match =
            StarMatcher.Match(truth.Field(0, 5, 0.08), truth.Field(60, 5, 0.08), truth.Focal)!.Value;
        StoppedResult result = StoppedSky.FromMotion(match.Motion, 60, 0.41, 35 * Degree, mirrored);
        output.WriteLine(
            $"focal {result.FocalLengthPx.Value:F1} ± {result.FocalLengthPx.Half95:F1} (12820), residual "
            + $"{match.Motion.ResidualPx:F3} px, {match.Motion.Pairs} pairs");
        Assert.True(result.Assessment.IsTrusted, string.Join(" ", result.Assessment.Reasons));
        Assert.InRange(result.FocalLengthPx.Value / truth.Focal, 0.9995, 1.0005);
        Assert.InRange(Math.IEEERemainder(result.WestAngleRad.Value - truth.WestAngle, 2 * Math.PI), -0.02 * Degree,
            0.02 * Degree);
        Assert.Contains("declination 35", StoppedSky.FromMotion(match.Motion, 60, 0.41, 55 * Degree,
            mirrored).Assessment.Reasons[^1], StringComparison.Ordinal);
    }

    [Theory]
    [InlineData(30, 20, 60, false)]
    [InlineData(-25, -40, 60, false)]
    [InlineData(50, 10, 480, true)]
    public void A_run_of_star_lists_gives_back_the_drives_constants(double declination, double hourAngle, double period,
        bool mirrored)
    {
        var truth = new TurningSky(declination, hourAngle, seed: 11, mirrored: mirrored)
        {
            RateError = -0.012,
            RateChangePerSec = 2e-6,
            AxisUpDeg = 0.3,
            AxisWestDeg = -0.4,
            PeriodicArcsec = 12,
            PeriodSeconds = period,
            PeriodicPhase = 0.7,
        };
        const int Frames = 40;
        const double Gap = 37.4;
        var run = Enumerable.Range(0, Frames).Select(i => new RunFrame(
            new FrameInfo($"f{i:D3}.fits", _start.AddSeconds(Math.Round((i * Gap) - 15)), 1, 30, null, null),
            truth.Field(i * Gap, 30, 0.08))).ToList();
        var aligned = RunAlignment.Of(run, truth.Focal);
        Assert.Equal(Frames, aligned.Frames.Count);
        IReadOnlyList<DriftSample> samples = DriftSample.Of(aligned);
        DriftResult result =
            DriftFit.Solve(samples, new DriftOptions(new SkyOnSensor(truth.WestAngle, truth.Focal, mirrored),
                new FieldPlace(declination * Degree), 30, period, ReferenceSeconds: aligned.ReferenceSeconds))!;
        // Mid-run truth of rate and of axis components in the field's frame (hour angle grows with time).
        double mid = samples[0].TimeSeconds + result.MidTimeSeconds, h = (hourAngle * Degree) + (7.292115e-5 * mid);
        double rate = 100 * (-0.012 + (2e-6 * mid));
        double e1 = 60 * ((0.3 * Math.Cos(h)) + (-0.4 * Math.Sin(h))), e2 = 60
            * ((0.3 * Math.Sin(h)) - (-0.4 * Math.Cos(h)));
        output.WriteLine(
            $"rate {result.RatePercent.Value:F4} ± {result.RatePercent.Half95:F4} ({rate:F4}) effective ± "
            + $"{result.EffectiveRatePercent.Half95:F5} %; change {result.RateChangePercentPerHour.Value:F3} ± "
            + $"{result.RateChangePercentPerHour.Half95:F3} ({2e-6 * 360000:F3})");
        output.WriteLine(
            $"axis toward {result.AxisTowardFieldArcmin.Value:F2} ± {result.AxisTowardFieldArcmin.Half95:F2} "
            + $"({e1:F2}), east {result.AxisEastOfFieldArcmin.Value:F2} ± {result.AxisEastOfFieldArcmin.Half95:F2} "
            + $"({e2:F2}) arcmin");
        output.WriteLine(
            $"periodic {result.Periodic!.AmplitudeArcsec.Value:F2} ± {result.Periodic.AmplitudeArcsec.Half95:F2}, "
            + $"phase {result.Periodic.PhaseRad.Value:F3} ± {result.Periodic.PhaseRad.Half95:F3}; noise "
            + $"{result.NoiseArcsec}");
        output.WriteLine(string.Join(" | ", result.Assessment.Reasons));
        Assert.True(result.Assessment.IsTrusted);
        Assert.InRange(result.AxisEastOfFieldArcmin.Value - e2, -0.1, 0.1);
        Assert.InRange(result.AxisTowardFieldArcmin.Value - e1, -0.3, 0.3);
        Assert.InRange(result.RatePercent.Value - rate, -0.006, 0.006);
        // What the stars show: the axis error tilts the turn (e²/2) and its share along the sky counts as rate.
        double e = 0.5 * Degree, effective = rate - (50 * e * e)
            - (100 * (1 + (rate / 100)) * e1 / 60 * Degree * Math.Tan(declination * Degree));
        Assert.InRange(result.EffectiveRatePercent.Value - effective, -0.005, 0.005);
        Assert.InRange(result.Periodic.AmplitudeArcsec.Value, 11.3, 12.7);
        Assert.InRange(Math.IEEERemainder(result.Periodic.PhaseRad.Value - 0.7, 2 * Math.PI), -0.12, 0.12);

        var axis =
            AxisError.Of(
                new[] { new FieldAxis(result.AxisTowardFieldArcmin, result.AxisEastOfFieldArcmin,
                    result.AxisCorrelation, h) }, 45 * Degree);
        output.WriteLine(
            $"high {axis.HighArcmin.Value:F2} ± {axis.HighArcmin.Half95:F2} (18), west {axis.WestArcmin.Value:F2} ± "
            + $"{axis.WestArcmin.Half95:F2} (-24); second field at hour angle "
            + $"{axis.HourAngleOfBestSecondFieldRad / Degree:F0} deg");
        Assert.InRange(axis.HighArcmin.Value, 16.5, 19.5);
        Assert.InRange(axis.WestArcmin.Value, -25.5, -22.5);
    }

    [Fact]
    public void Stated_intervals_hold_the_truth_as_often_as_they_say()
    {
        int trials = Campaign.Trials(40);
        int[] held = new int[5];
        for (int k = 0; k < trials; k++)
        {
            var truth = new TurningSky(30, 15, seed: 5000 + k, starCount: 1)
            {
                RateError = 0.006,
                RateChangePerSec = 1e-6,
                AxisUpDeg = 0.05,
                AxisWestDeg = 0.08,
                PeriodicArcsec = 8,
                PeriodSeconds = 300,
                PeriodicPhase = 0.3,
            };
            var samples = Enumerable.Range(0, 40)
                .Select(i => truth.Sample(i, i * 40.0, 30, 0.1, 4e-5, truth.Uniform() - 0.5)).ToList();
            DriftResult r = DriftFit.Solve(samples,
                new DriftOptions(new SkyOnSensor(truth.WestAngle, truth.Focal), new FieldPlace(30 * Degree), 30, 300))!;
            double mid = 780, h = (15 * Degree) + (7.292115e-5 * mid);
            double e1 = 60 * ((0.05 * Math.Cos(h)) + (0.08 * Math.Sin(h))), e2 = 60
                * ((0.05 * Math.Sin(h)) - (0.08 * Math.Cos(h)));
            double rate = 100 * (0.006 + (1e-6 * mid));
            held[0] += r.EffectiveRatePercent.Contains(rate - (100 * e1 / 60 * Degree * Math.Tan(30 * Degree))) ? 1 : 0;
            held[1] += r.RatePercent.Contains(rate) ? 1 : 0;
            held[2] += r.AxisEastOfFieldArcmin.Contains(e2) ? 1 : 0;
            held[3] += r.AxisTowardFieldArcmin.Contains(e1) ? 1 : 0;
            held[4] += r.Periodic!.AmplitudeArcsec.Contains(8) ? 1 : 0;
        }
        output.WriteLine(
            $"of {trials}: effective rate {held[0]}, rate {held[1]}, axis east {held[2]}, axis toward {held[3]}, "
            + $"amplitude {held[4]}");
        // At 1 %, 275 to 294 of 300 are consistent with 95 %.
        Assert.All(held, h => Assert.True(Campaign.Chance(h, trials) > 0.01, $"{h} of {trials}"));
    }

    /// <summary>Frames that always meet the nut turn at nearly the same places: the sine is not determined, and what it
    /// takes of the rate is in the interval.</summary>
    [Fact]
    public void A_sine_that_is_not_determined_does_not_bend_the_rate_unseen()
    {
        const int Trials = 20;
        int held = 0;
        for (int k = 0; k < Trials; k++)
        {
            var truth = new TurningSky(0, 6, seed: 300 + k, starCount: 1) { RateError = -0.01478 };
            var samples = Enumerable.Range(0, 8).Select(i => truth.Sample(i, i * 55.0, 40, 0.01, 1e-5, 0)).ToList();
            DriftResult r = DriftFit.Solve(samples, new DriftOptions(new SkyOnSensor(truth.WestAngle, truth.Focal),
                new FieldPlace(0), 40, 56, SpotVariancePx2: 2))!;
            Assert.InRange(r.Periodic!.AmplitudeArcsec.Value, 0, 2 * r.Periodic.AmplitudeArcsec.Half95);
            Assert.Contains(r.Assessment.Reasons, x => x.Contains("is not determined", StringComparison.Ordinal));
            held += r.RatePercent.Contains(-1.478) ? 1 : 0;
        }

        output.WriteLine($"held {held} of {Trials}");
        // Binomial at 1 %: 16 or more of 20 are consistent with 95 %.
        Assert.InRange(held, 16, Trials);
    }

    [Fact]
    public void Two_frames_answer_in_words()
    {
        var truth = new TurningSky(25, 30, seed: 41) { RateError = -0.02, AxisUpDeg = 0.5, AxisWestDeg = 1.2 };
        (IReadOnlyList<StarPair> Pairs, FieldMotion Motion) match =
            StarMatcher.Match(truth.Field(0, 10, 0.1), truth.Field(120, 10, 0.1), truth.Focal)!.Value;
        QuickAnswer answer =
            QuickLook.Solve(match.Motion, 120, 0.41, Known(truth), 25 * Degree);
        double h = (30 * Degree) + (7.292115e-5 * 60);
        output.WriteLine(answer.Sentence);
        Assert.True(answer.Assessment.IsTrusted, string.Join(" ", answer.Assessment.Reasons));
        Assert.InRange(answer.RatePercent.Value, -2.15, -1.85);
        Assert.InRange(answer.AxisTowardFieldDegrees.Value - ((0.5 * Math.Cos(h)) + (1.2 * Math.Sin(h))), -0.1, 0.1);
        Assert.InRange(answer.AxisEastOfFieldDegrees.Value - ((0.5 * Math.Sin(h)) - (1.2 * Math.Cos(h))), -0.03, 0.03);
        Assert.Contains("slow", answer.Sentence, StringComparison.Ordinal);
    }

    [Fact]
    public void Weak_runs_are_not_to_be_trusted_and_say_why()
    {
        var truth = new TurningSky(30, 0, seed: 51) { RateError = 0.01, PeriodicArcsec = 10 };
        DriftResult Run(int frames, double gap, double exposure, double? period) => DriftFit.Solve(
            Enumerable.Range(0, frames).Select(i => truth.Sample(i, i * gap, exposure, 0.1, 4e-5, 0)).ToList(),
            new DriftOptions(new SkyOnSensor(truth.WestAngle, truth.Focal), new FieldPlace(30 * Degree), exposure,
                period))!;
        Assert.Contains(Run(5, 20, 10, null).Assessment.Reasons,
            r => r.Contains("only 5 frames", StringComparison.Ordinal));
        Assert.Contains(Run(40, 30, 20, 60).Assessment.Reasons,
            r => r.Contains("change the gap", StringComparison.Ordinal));
        Assert.Contains(Run(30, 37, 30, 900).Assessment.Reasons,
            r => r.Contains("less than two periods", StringComparison.Ordinal));
        Assert.Contains(Run(40, 71, 55, 60).Assessment.Reasons,
            r => r.Contains("averages the period", StringComparison.Ordinal));
        var slow = new TurningSky(30, 0, seed: 52) { RateError = 0.01, PeriodicArcsec = 30, PeriodSeconds = 420 };
        DriftResult hidden =
            DriftFit.Solve(Enumerable.Range(0, 40).Select(i => slow.Sample(i, i * 30.0, 20, 0.1, 4e-5, 0)).ToList(),
            new DriftOptions(new SkyOnSensor(slow.WestAngle, slow.Focal), new FieldPlace(30 * Degree), 20))!;
        Assert.Contains(hidden.Assessment.Reasons, r => r.Contains("not in the model", StringComparison.Ordinal));
    }
}
