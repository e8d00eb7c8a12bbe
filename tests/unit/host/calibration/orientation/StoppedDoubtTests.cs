// What stopped frames can be wrong about: the exposure, the direction near the equator, streaks that are no stars, the
// lens. Each must be found or said, in the full result and in the quick one.
using Hourhinge.Calibration.Orientation;
using Hourhinge.Calibration.Stars;
using Hourhinge.Frames.Matching;
using Hourhinge.Frames.Reading;
using Hourhinge.Frames.Stars;
using Hourhinge.Tests.Host.Calibration.Stars;
using Xunit.Abstractions;

namespace Hourhinge.Tests.Host.Calibration.Orientation;

public sealed class StoppedDoubtTests(ITestOutputHelper output)
{
    private const double Degree = Math.PI / 180;
    private static readonly DateTime _start = new(2025, 1, 31, 21, 0, 0, DateTimeKind.Utc);

    /// <summary>A shutter marked 30 s is open for 32 s by powers of two; the motion between frames tells.</summary>
    [Theory]
    [InlineData(32, 30, 32)]
    [InlineData(30, 30, 30)]
    [InlineData(64, 60, 64)]
    [InlineData(20, 20, 20)]
    public void The_true_exposure_comes_from_the_trails(double open, double marked, double expected)
    {
        TurningSky truth = Sky(30);
        StoppedResult found = StoppedRun.Of([At(truth, 0, open, marked), At(truth, 60, open, marked)], 30 * Degree)!;
        output.WriteLine($"{found.TrueExposureSec} {found.FocalLengthPx} {string.Join(" ", found.Remarks)}");
        Assert.True(found.Assessment.IsTrusted, string.Join(" ", found.Assessment.Reasons));
        Assert.Equal(expected, found.TrueExposureSec!.Value.Value, 9);
        Assert.InRange(found.FocalLengthPx.Value / truth.Focal, 0.999, 1.001);
        Assert.Equal(open == marked ? 0 : 1, found.Remarks.Count);
    }

    [Fact]
    public void One_frame_that_cannot_tell_30_from_32_s_is_doubted()
    {
        RunFrame frame = At(Sky(30), 0, 32, 30);
        StoppedResult one = StoppedRun.Of([frame], 30 * Degree)!;
        Assert.Contains(one.Assessment.Reasons, r => r.Contains("hold for 32 s", StringComparison.Ordinal));
        Assert.True(StoppedRun.Of([frame], 30 * Degree, false, new StoppedHints(ExposureIsTold: true))!
            .Assessment.IsTrusted);
        // A time told wrong is found by two frames.
        StoppedResult two = StoppedRun.Of([frame, At(Sky(30), 60, 32, 30)], 30 * Degree, false,
            new StoppedHints(ExposureIsTold: true))!;
        Assert.Contains(two.Assessment.Reasons, r => r.Contains("--stopped-exposure", StringComparison.Ordinal));
    }

    /// <summary>Told half a degree on the other side of the equator: the trails' shape then points the wrong
    /// way.</summary>
    [Theory]
    [InlineData(-0.3, 0.2)]
    [InlineData(0.4, -0.1)]
    [InlineData(-0.3, -0.3)]
    public void Near_the_equator_the_shape_of_trails_is_not_believed(double trueDeg, double toldDeg)
    {
        TurningSky truth = Sky(trueDeg);
        var hints = new StoppedHints(0.5 * Degree);
        StoppedResult one = StoppedRun.Of([At(truth, 0, 30, 30)], toldDeg * Degree, false, hints)!;
        Assert.Contains(one.Assessment.Reasons, r => r.Contains("west from east", StringComparison.Ordinal));
        StoppedResult two = StoppedRun.Of([At(truth, 0, 30, 30), At(truth, 35, 30, 30)], toldDeg * Degree, false,
            hints)!;
        Assert.True(two.Assessment.IsTrusted, string.Join(" ", two.Assessment.Reasons));
        Assert.InRange(Math.IEEERemainder(two.Sky.WestAngleRad - truth.WestAngle, 2 * Math.PI), -0.1 * Degree,
            0.1 * Degree);
    }

    /// <summary>Streaks that stand still are buildings; the moving stars between them give the scale.</summary>
    [Fact]
    public void Standing_streaks_do_not_become_a_focal_length()
    {
        TurningSky truth = Sky(-40);
        var random = new Random(4);
        Streak[] edges = [.. Enumerable.Range(0, 300).Select(_ =>
        {
            double x = random.Next(200, 5800), y = random.Next(2500, 3900), length = random.Next(200, 900);
            return new Streak(x, y, x + length, y + (0.05 * length), 1.5, 50_000, 0.05, false);
        })];
        RunFrame With(RunFrame f) => f with { Field = f.Field with { Streaks = [.. edges, .. f.Field.Streaks] } };
        StoppedResult found = StoppedRun.Of(
            [With(At(truth, 0, 30, 30)), With(At(truth, 300, 30, 30))], -40 * Degree)!;
        output.WriteLine($"{found.FocalLengthPx} of {truth.Focal}");
        Assert.InRange(found.FocalLengthPx.Value / truth.Focal, 0.997, 1.003);
        // The edges alone: nothing that could be trusted.
        RunFrame Edges(double t) =>
            At(truth, t, 30, 30) with { Field = truth.Field(t, 1, 1) with { Stars = [], Streaks = edges } };
        StoppedResult? wrong = StoppedRun.Of([Edges(0), Edges(300)], -40 * Degree);
        Assert.False(wrong?.Assessment.IsTrusted ?? false);
    }

    [Fact]
    public void A_focal_length_that_is_not_the_lens_is_doubted()
    {
        var hints = new StoppedHints(0, new LensHint([11628], "50 mm at 4.3 µm a pixel"));
        StoppedResult found = StoppedRun.Of([At(Sky(30), 0, 30, 30), At(Sky(30), 35, 30, 30)], 30 * Degree, false,
            hints)!;
        Assert.Contains(found.Assessment.Reasons, r =>
            r.Contains("50 mm at 4.3 µm a pixel makes 11628 (+10 %)", StringComparison.Ordinal));
    }

    [Fact]
    public void The_quick_answer_keeps_the_doubts_of_the_stopped_frames()
    {
        TurningSky truth = Sky(30);
        StoppedResult doubted = StoppedRun.Of([At(truth, 0, 32, 30)], 30 * Degree)!;
        var still = new FieldMotion(3, 0, 0, 1, 0.02, 1e-6, 100, 0.1);
        QuickAnswer answer = QuickLook.Solve(still, 300, 0.01, doubted, 30 * Degree);
        Assert.Contains(doubted.Assessment.Reasons[0], answer.Assessment.Reasons);
    }

    /// <summary>A field that moves at the sky's rate is a stopped drive, not one that is some percent slow.</summary>
    [Fact]
    public void The_quick_answer_does_not_trust_a_standing_camera()
    {
        TurningSky truth = Sky(30);
        StoppedResult known = StoppedRun.Of([At(truth, 0, 30, 30), At(truth, 35, 30, 30)], 30 * Degree)!;
        (IReadOnlyList<StarPair> Pairs, FieldMotion Motion) match =
            StarMatcher.Match(truth.Field(0, 5, 0.08), truth.Field(120, 5, 0.08), truth.Focal)!.Value;
        QuickAnswer answer = QuickLook.Solve(match.Motion, 120, 0.01, known, 30 * Degree);
        output.WriteLine(answer.Sentence);
        Assert.Contains(answer.Assessment.Reasons, r => r.Contains("stands still", StringComparison.Ordinal));
    }

    private static TurningSky Sky(double declination) =>
        new(declination, 10, seed: 6, starCount: 250, rollDeg: 25) { Stopped = true };

    private static RunFrame At(TurningSky truth, double t, double open, double marked) =>
        new(new FrameInfo($"s{t}", _start.AddSeconds(t - (marked / 2)), 0.01, marked, null, null),
            truth.Trails(t, open, 0.1));
}
