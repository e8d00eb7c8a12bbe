using Hourhinge.Numerics;
using Hourhinge.Recognition;
using Hourhinge.Sky.Places;
using Hourhinge.Sky.Stars;
using Xunit.Abstractions;

namespace Hourhinge.Tests.Host.Recognition;

public class RecognizerTests(ITestOutputHelper output)
{
    private static readonly DrawnField _field = DrawnField.Draw(FieldProjection.At(6000, 4000,
        new Equatorial(Angle.FromDegrees(83), Angle.FromDegrees(-2)), Angle.FromDegrees(20), 50 / 23.5 * 6000,
        new LensDistortion(-0.3, 0.5)), new Random(2));

    [Fact]
    public void A_hint_of_the_centre_is_enough_and_a_wrong_one_is_not_followed()
    {
        FieldHint Near(double raDeg) => new()
        {
            FocalLengthPx = _field.Truth.FocalLengthPx * 1.05,
            Centre = new Equatorial(Angle.FromDegrees(raDeg), Angle.FromDegrees(-1)).ToVector(),
        };
        Assert.NotNull(FieldRecognizer.Recognize(_field.Sources, 6000, 4000, Near(84)));
        Assert.Null(FieldRecognizer.Recognize(_field.Sources, 6000, 4000, Near(150)));
    }

    [Fact]
    public void A_wrong_scale_or_mirror_is_not_followed()
    {
        Assert.Null(FieldRecognizer.Recognize(_field.Sources, 6000, 4000,
            new FieldHint { FocalLengthPx = _field.Truth.FocalLengthPx * 1.6 }));
        Assert.Null(FieldRecognizer.Recognize(_field.Sources, 6000, 4000, new FieldHint { Mirrored = true }));
        Assert.NotNull(FieldRecognizer.Recognize(_field.Sources, 6000, 4000, new FieldHint { Mirrored = false }));
    }

    [Fact]
    public void Distortion_is_measured()
    {
        RecognizedField found = FieldRecognizer.Recognize(_field.Sources, 6000, 4000)!;
        double r = _field.Truth.CornerRadius;
        Assert.Equal(_field.Truth.Lens.Distort(r) * _field.Truth.FocalLengthPx,
            found.Projection.Lens.Distort(r) * found.Projection.FocalLengthPx, 2.0);
        Assert.Equal(_field.Truth.FocalLengthPx, found.Projection.FocalLengthPx, 4 * found.FocalLengthSigmaPx);
    }

    /// <summary>The catalogue has no proper motions: by 2026 these stars have left their places by 59" and 96" (proper
    /// motions of ESA SP-1200, from memory). They may be matched or not; they do not pull the field.</summary>
    [Theory]
    [InlineData("Arcturus", 69673, -1093.45, -1999.40, 50)]
    [InlineData("Arcturus", 69673, -1093.45, -1999.40, 200)]
    [InlineData("alpha Centauri", 71683, -3678.19, 481.84, 24)]
    [InlineData("alpha Centauri", 71683, -3678.19, 481.84, 135)]
    public void A_star_that_has_moved_does_not_pull_the_field(string name, int hip, double eastMas, double northMas,
        double lensMm)
    {
        CatalogueStar star = StarCatalogue.Stars[StarCatalogue.IndexOfHip(hip)];
        var place = Equatorial.FromVector(star.Direction);
        FieldProjection truth = FieldProjection.At(6000, 4000, new Equatorial(place.RightAscension,
            place.Declination + Angle.FromDegrees(60 / lensMm)), Angle.FromDegrees(30), lensMm / 0.006);
        DrawnField drawn = DrawnField.Draw(truth, new Random(11));
        const double Years = 26;
        var moved = new Equatorial(
            place.RightAscension + Angle.FromArcseconds(eastMas / 1000 * Years / place.Declination.Cos()),
            place.Declination + Angle.FromArcseconds(northMas / 1000 * Years));
        FramePoint at = truth.ToPixel(star.Direction)!.Value, now = truth.ToPixel(moved.ToVector())!.Value;
        ImageStar[] without = [.. drawn.Sources.Where(s => Math.Abs(s.X - at.X) + Math.Abs(s.Y - at.Y) > 5)];
        var hint = new FieldHint { FocalLengthPx = truth.FocalLengthPx };
        RecognizedField alone = FieldRecognizer.Recognize(without, 6000, 4000, hint)!;
        RecognizedField both = FieldRecognizer.Recognize(
            [.. without, new ImageStar(now.X, now.Y, Math.Pow(10, -0.4 * star.Magnitude))], 6000, 4000, hint)!;
        double pulled = both.Projection.Centre.SeparationFrom(alone.Projection.Centre).Radians;
        double stretched = Math.Abs(both.Projection.FocalLengthPx - alone.Projection.FocalLengthPx);
        output.WriteLine($"{name}, {lensMm} mm: {alone.Matches.Count} and {both.Matches.Count} matches; pulled by "
            + $"{pulled / alone.CentreSigma.Radians:0.00} sigma, {stretched / alone.FocalLengthSigmaPx:0.00} sigma "
            + "in scale");
        Assert.InRange(pulled, 0, 0.5 * alone.CentreSigma.Radians);
        Assert.InRange(stretched, 0, 0.5 * alone.FocalLengthSigmaPx);
    }

    /// <summary>A map of the sky that turns nothing must not change the result.</summary>
    [Fact]
    public void Seen_directions_replace_catalogue_directions()
    {
        RecognizedField plain = FieldRecognizer.Recognize(_field.Sources, 6000, 4000)!;
        Rotation turn = Rotation.About(Vector3.UnitZ, Angle.FromArcminutes(20));
        RecognizedField turned = FieldRecognizer.Recognize(_field.Sources, 6000, 4000,
            new FieldHint { SeenDirection = turn.Apply })!;
        Assert.Equal(plain.Matches.Count, turned.Matches.Count, 3.0);
        Assert.Equal(20, (turned.Projection.Centre.RightAscension - plain.Projection.Centre.RightAscension).Arcminutes,
            0.05);
    }

    [Fact]
    public void Nothing_comes_of_too_little_or_bad_input()
    {
        Assert.Null(FieldRecognizer.Recognize([], 100, 100));
        Assert.Null(FieldRecognizer.Recognize([.. Enumerable.Repeat(new ImageStar(5, 5, 1), 500)], 100, 100));
        Assert.Null(FieldRecognizer.Recognize([.. Enumerable.Repeat(new ImageStar(double.NaN, 5, 1), 50)], 100, 100));
        Assert.Null(FieldRecognizer.Recognize([.. Enumerable.Range(0, 300).Select(i => new ImageStar(i, i, 300 - i))],
            300, 300));
        Assert.Throws<ArgumentOutOfRangeException>(() => FieldRecognizer.Recognize(_field.Sources, 0, 100));
        Assert.Throws<ArgumentOutOfRangeException>(() =>
            FieldRecognizer.Recognize(_field.Sources, 100, 100, new FieldHint { FocalLengthPx = -1 }));
    }
}
