// Everything that goes wrong in a real night, one frame at a time: each must be named and the rest used.
using Hourhinge.Calibration.Orientation;
using Hourhinge.Calibration.Stars;
using Hourhinge.Frames.Matching;
using Hourhinge.Frames.Reading;
using Hourhinge.Frames.Stars;
using Hourhinge.Tests.Host.Calibration.Stars;
using Xunit.Abstractions;

namespace Hourhinge.Tests.Host.Frames.Matching;

public sealed class RunAlignmentTests(ITestOutputHelper output)
{
    private static readonly DateTime _start = new(2025, 1, 31, 21, 0, 0, DateTimeKind.Utc);

    [Fact]
    public void Each_anomaly_is_named_and_the_rest_is_used()
    {
        var truth = new TurningSky(30, 10, seed: 7) { RateError = 0.01, AxisUpDeg = 0.2 };
        var run = Enumerable.Range(0, 40).Select(i => Frame(truth, i)).ToList();
        for (int i = 12; i < 32; i += 2)
        {
            run[i] = run[i] with { Field = Clouded(truth.Field(i * 37, 30, 0.08, keep: 0.1)) };
        }

        run[5] = run[5] with
        { Field = run[5].Field with { Streaks = new[] { new Streak(100, 200, 2900, 1800, 1.5, 1e6, 0.3, true) } } };
        for (int i = 33; i < 40; i++)
        {
            run[i] = run[i] with { Field = truth.Field(i * 37, 30, 0.08, (x, y) => (x + 35, y - 22)) };
        }

        run[36] = run[36] with
        {
            Field =
            truth.Field(36 * 37, 30, 0.08, (x, y) => (3000 + ((x - 3000) * 1.7), 2000 + ((y - 2000) * 1.7)))
        };
        run[38] = run[38] with { Info = run[38].Info with { StartUtc = _start.AddDays(-3) } };
        (run[2], run[3]) = (run[3], run[2]);
        var other = new TurningSky(-10, 50, seed: 77);
        run[9] = run[9] with { Field = other.Field(0, 30, 0.08) };

        var aligned = RunAlignment.Of(run, truth.Focal);
        foreach (FrameNote n in aligned.Notes)
        {
            output.WriteLine($"{n.Name}: {n.Reason}");
        }

        string Reason(int i) =>
            string.Join(" ", aligned.Notes.Where(n => n.Name == $"f{i:D3}.fits").Select(n => n.Reason));
        for (int i = 12; i < 32; i += 2)
        {
            Assert.Contains("clouds", Reason(i), StringComparison.Ordinal);
        }

        Assert.Contains("trail", Reason(5), StringComparison.Ordinal);
        Assert.Contains("bump", Reason(33), StringComparison.Ordinal);
        Assert.Contains("lens changed", Reason(36), StringComparison.Ordinal);
        Assert.Contains("another night", Reason(38), StringComparison.Ordinal);
        Assert.Contains("do not match", Reason(9), StringComparison.Ordinal);
        Assert.Contains("sorted by time", Reason(2), StringComparison.Ordinal);
        Assert.Equal(40 - 10 - 3, aligned.Frames.Count);
        Assert.Equal("0 1", string.Join(" ", aligned.Frames.Select(f => f.Segment).Distinct()));
        Assert.True(aligned.Frames.Zip(aligned.Frames.Skip(1), (a, b) => a.Info.StartUtc < b.Info.StartUtc)
            .All(ordered => ordered));
        // The bump here is a plain shift of the picture, which no turn of a camera makes: 35 pixels of it leave half a
        // pixel.
        Assert.All(aligned.Frames, f => Assert.InRange(f.Motion.ResidualPx, 0, f.Segment == 0 ? 0.15 : 0.8));
    }

    [Fact]
    public void Clouds_through_half_the_frames_leave_the_other_half()
    {
        var truth = new TurningSky(30, 10, seed: 8) { RateError = 0.01 };
        var run = Enumerable.Range(0, 40).Select(i => Frame(truth, i)).ToList();
        for (int i = 10; i < 30; i++)
        {
            run[i] = run[i] with { Field = Clouded(truth.Field(i * 37, 30, 0.08, keep: 0.1)) };
        }

        var aligned = RunAlignment.Of(run, truth.Focal);
        Assert.Equal(20, aligned.Frames.Count);
        for (int i = 10; i < 30; i++)
        {
            Assert.Contains(aligned.Notes, n => n.Name == $"f{i:D3}.fits" && n.LeftOut
                && n.Reason.Contains("clouds", StringComparison.Ordinal));
        }
    }

    [Fact]
    public void A_bump_does_not_spoil_the_rate()
    {
        var truth = new TurningSky(30, 10, seed: 17) { RateError = 0.01 };
        var run = Enumerable.Range(0, 30).Select(i => i < 17
            ? Frame(truth, i)
            : Frame(truth, i) with { Field = truth.Field(i * 37, 30, 0.08, (x, y) => (x + 12, y + 30)) }).ToList();
        var aligned = RunAlignment.Of(run, truth.Focal);
        IReadOnlyList<DriftSample> samples = DriftSample.Of(aligned);
        DriftResult fit = DriftFit.Solve(samples, new DriftOptions(new SkyOnSensor(truth.WestAngle, truth.Focal),
            new FieldPlace(Math.PI / 6), 30, ReferenceSeconds: aligned.ReferenceSeconds))!;
        output.WriteLine($"{fit.EffectiveRatePercent.Value:F4} ± {fit.EffectiveRatePercent.Half95:F4} %");
        Assert.InRange(fit.EffectiveRatePercent.Value, 0.99, 1.01);
    }

    [Theory]
    [InlineData(0, 0, 0)]
    [InlineData(800, -500, 0.3)]
    [InlineData(-60, 20, 25)]
    [InlineData(100, 0, 170)]
    public void Star_lists_match_through_shift_and_turn(double dx, double dy, double turnDegrees)
    {
        var truth = new TurningSky(30, 10, seed: 9);
        double c = Math.Cos(turnDegrees * Math.PI / 180), s = Math.Sin(turnDegrees * Math.PI / 180);
        StarField a = truth.Field(0, 10, 0.1);
        StarField b = truth.Field(0, 10, 0.1, (x, y) => (2999.5 + dx + (c * (x - 2999.5)) - (s * (y - 1999.5)),
            1999.5 + dy + (s * (x - 2999.5)) + (c * (y - 1999.5))), keep: 0.7);
        (IReadOnlyList<StarPair> Pairs, FieldMotion Motion) match = StarMatcher.Match(a, b)!.Value;
        output.WriteLine(
            $"{match.Pairs.Count} pairs, shift {match.Motion.ShiftXPx:F3} {match.Motion.ShiftYPx:F3} turn "
            + $"{match.Motion.RotationRad * 180 / Math.PI:F5} ± {match.Motion.SigmaShiftPx:F3}");
        Assert.InRange(match.Motion.ShiftXPx - dx, -0.06, 0.06);
        Assert.InRange(match.Motion.ShiftYPx - dy, -0.06, 0.06);
        Assert.InRange(Math.IEEERemainder((match.Motion.RotationRad * 180 / Math.PI) - turnDegrees, 360), -0.003,
            0.003);
    }

    [Fact]
    public void Unrelated_fields_do_not_match()
    {
        Assert.Null(StarMatcher.Match(new TurningSky(30, 10, seed: 1).Field(0, 10, 0.1),
            new TurningSky(30, 10, seed: 2).Field(0, 10, 0.1)));
    }

    private static StarField Clouded(StarField field) => field with { BackgroundLevel = 900 };

    private static RunFrame Frame(TurningSky truth, int i) => new(
        new FrameInfo($"f{i:D3}.fits", _start.AddSeconds((i * 37) - 15), 1, 30, 50, 3.9),
        truth.Field(i * 37, 30, 0.08));
}
