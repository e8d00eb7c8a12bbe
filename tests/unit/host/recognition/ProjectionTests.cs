using Hourhinge.Numerics;
using Hourhinge.Recognition;
using Hourhinge.Sky.Places;

namespace Hourhinge.Tests.Host.Recognition;

public class ProjectionTests
{
    [Fact]
    public void Pixels_and_directions_are_inverse()
    {
        var random = new Random(4);
        for (int i = 0; i < 300; i++)
        {
            FieldProjection field = DrawnField.Random(new Random(i)).Truth;
            var place = new FramePoint(random.NextDouble() * field.Width, random.NextDouble() * field.Height);
            FramePoint back = field.ToPixel(field.ToDirection(place)!.Value)!.Value;
            Assert.Equal(place.X, back.X, 6);
            Assert.Equal(place.Y, back.Y, 6);
        }
    }

    /// <summary>Gnomonic standard coordinates (Calabretta and Greisen 2002, A&amp;A 395, 1077, eq. 54): north up, east
    /// to the left, 1 radian of tangent is one focal length.</summary>
    [Fact]
    public void North_is_up_and_east_is_left()
    {
        var centre = new Equatorial(Angle.FromDegrees(80), Angle.FromDegrees(30));
        FieldProjection field = FieldProjection.At(2001, 1001, centre, Angle.Zero, 1000);
        Assert.Equal(new FramePoint(1000, 500), field.ToPixel(centre.ToVector()));
        FramePoint north = field.ToPixel(At(80, 40))!.Value, east = field.ToPixel(At(90, 30))!.Value;
        Assert.Equal(1000, north.X, 6);
        Assert.Equal(500 - (1000 * Math.Tan(Angle.FromDegrees(10).Radians)), north.Y, 6);
        Assert.True(east.X < 1000);
        FieldProjection mirrored = FieldProjection.At(2001, 1001, centre, Angle.Zero, 1000, default, true);
        Assert.Equal(2000 - east.X, mirrored.ToPixel(At(90, 30))!.Value.X, 6);
        Assert.Equal(25, FieldProjection.At(2001, 1001, centre, Angle.FromDegrees(25), 1000).Roll.Degrees, 9);
        Assert.Null(field.ToPixel(At(260, -30)));
    }

    [Theory]
    [InlineData(-0.11, 0.1, 0.88)]
    [InlineData(0.03, 0, 1.7)]
    [InlineData(-0.02, 0, 1.5)]
    public void Distortion_is_undone(double k1, double k2, double to)
    {
        var lens = new LensDistortion(k1, k2);
        for (double r = 0; r <= to; r += 0.01)
        {
            Assert.Equal(r, lens.Undistort(lens.Distort(r)), 10);
        }
    }

    [Fact]
    public void Distortion_that_folds_back_is_not_undone()
    {
        var barrel = new LensDistortion(-0.5, 0);
        Assert.False(barrel.RisesTo(1));
        Assert.True(double.IsNaN(barrel.Undistort(0.9)));
        FieldProjection field = FieldProjection.At(2000, 1000, default, Angle.Zero, 500, barrel);
        Assert.Null(field.ToDirection(new FramePoint(0, 0)));
    }

    private static Vector3 At(double raDeg, double decDeg) =>
        new Equatorial(Angle.FromDegrees(raDeg), Angle.FromDegrees(decDeg)).ToVector();
}
