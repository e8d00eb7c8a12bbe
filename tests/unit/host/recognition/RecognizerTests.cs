using Hourhinge.Numerics;
using Hourhinge.Recognition;
using Hourhinge.Sky.Places;

namespace Hourhinge.Tests.Host.Recognition;

public class RecognizerTests
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
