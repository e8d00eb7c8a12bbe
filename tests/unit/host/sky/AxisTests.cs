// Pole alignment and axis error. The judge for drift is an exact rotation in east-north-up coordinates, written here
// apart from the code under test, and the field rules of drift alignment (common practice, no source).
using Hourhinge.Calibration.Stars;
using Hourhinge.Numerics;
using Hourhinge.Sky.Bodies;
using Hourhinge.Sky.Observing;
using Hourhinge.Sky.Places;
using Hourhinge.Sky.Time;
using Xunit.Abstractions;

namespace Hourhinge.Tests.Host.Sky;

public class AxisTests(ITestOutputHelper output)
{
    private const double Rate = 7.292115e-5;

    [Theory]
    [InlineData(52, 8, -5, 1.0, 30)]
    [InlineData(52, -8, 5, -3.0, -20)]
    [InlineData(28, 4, 11, 4.5, 70)]
    [InlineData(-34, 6, 9, -2.0, -45)]
    [InlineData(-34, -3, 12, 5.0, 10)]
    public void Drift_and_field_rotation_match_exact_rotations(
        double latitudeDeg, double highArcmin, double eastArcmin, double hours, double declinationDeg)
    {
        var place = new HourAngleDeclination(Angle.FromHours(hours), Angle.FromDegrees(declinationDeg));
        PolarMisalignment axis = Misaligned(highArcmin, eastArcmin, latitudeDeg);
        (double west, double north, double turnDeg) = ExactDrift(place, latitudeDeg, highArcmin, eastArcmin, 60);
        Drift drift = axis.DriftAt(place);
        output.WriteLine($"west {drift.WestArcsecPerMinute:F4} exact {west:F4}; "
            + $"north {drift.NorthArcsecPerMinute:F4} exact {north:F4}; "
            + $"turn {axis.FieldRotationDegPerMinute(place):E4} exact {turnDeg:E4}");
        double scale = 60 * Math.Sqrt((axis.High.Arcminutes * axis.High.Arcminutes)
            + (axis.EastOnSky.Arcminutes * axis.EastOnSky.Arcminutes)) * Rate * 60;
        Assert.Equal(west, drift.WestArcsecPerMinute, 0.01 * scale);
        Assert.Equal(north, drift.NorthArcsecPerMinute, 0.01 * scale);
        Assert.Equal(turnDeg, axis.FieldRotationDegPerMinute(place), 0.01 * scale / 3600);
    }

    [Fact]
    public void The_rules_of_drift_alignment_hold()
    {
        // Common practice, no source, northern sites: near the meridian and the equator a southward drift says "axis
        // too far east"; low in the east a northward drift says "axis too high".
        var meridian = new HourAngleDeclination(Angle.Zero, Angle.Zero);
        var east = new HourAngleDeclination(Angle.FromHours(-6), Angle.Zero);
        Assert.True(Misaligned(0, 10, 50).DriftAt(meridian).NorthArcsecPerMinute < -1);
        Assert.True(Misaligned(10, 0, 50).DriftAt(east).NorthArcsecPerMinute > 1);
        // Common practice, no source: an axis off by 5 arcmin drifts at most about 1.3 arcsec a minute.
        PolarMisalignment off = Misaligned(5, 0, 50);
        Assert.Equal(1.31, off.DriftAt(east).NorthArcsecPerMinute, 0.01);
    }

    [Theory]
    [InlineData(52, -5, 20)]
    [InlineData(28, 11, -35)]
    [InlineData(-34, 9, 40)]
    [InlineData(65, 3, 55)]
    public void Turning_the_base_by_the_advice_brings_the_axis_to_the_pole(
        double latitudeDeg, double highArcmin, double turnEastArcmin)
    {
        // The axis is turned by vectors about the vertical. What its offset makes of a field is told to the advice; the
        // answer must be the turn about the vertical that went in, which is 1/cos(latitude) times the arc on the sky.
        double rad = Math.PI / 180;
        double phi = latitudeDeg * rad;
        double side = latitudeDeg < 0 ? -1 : 1;
        double azimuth = (latitudeDeg < 0 ? Math.PI : 0) + (side * turnEastArcmin / 60 * rad);
        double[] seenEnd = EastNorthUp(azimuth, Math.Abs(phi) + (highArcmin / 60 * rad));
        double[] northEnd = Scale(seenEnd, side);
        var fields = new List<FieldAxis>();
        foreach (double hourAngle in new[] { -0.9, 0.8 })
        {
            // Unit vectors at the pole, towards the field's hour angle and a quarter turn east of it.
            double[] toward = Star(hourAngle, 0, phi);
            double[] east = Star(hourAngle - (Math.PI / 2), 0, phi);
            Estimate Known(double radians) => new(radians / rad * 60, 0.1, 0.2);
            fields.Add(new FieldAxis(Known(Dot(northEnd, toward)), Known(Dot(northEnd, east)), 0, hourAngle));
        }

        var advice = AxisError.Of(fields, phi);
        output.WriteLine($"high {advice.HighArcmin.Value:F3}, turn west {advice.TurnWestArcmin.Value:F3} arcmin");
        Assert.Equal(highArcmin, advice.HighArcmin.Value, 0.6);
        Assert.Equal(-turnEastArcmin, advice.TurnWestArcmin.Value, 0.4);
        Assert.Equal(-turnEastArcmin * Math.Cos(phi), advice.WestArcmin.Value, 0.4);
    }

    [Fact]
    public void Exposure_blur_grows_with_time_and_distance()
    {
        PolarMisalignment axis = Misaligned(20, 0, 50);
        var place = new HourAngleDeclination(Angle.Zero, Angle.FromDegrees(20));
        ExposureBlur one = axis.BlurOver(place, 60, Angle.FromDegrees(3));
        ExposureBlur two = axis.BlurOver(place, 120, Angle.FromDegrees(3));
        Assert.Equal(2 * one.DriftArcsec, two.DriftArcsec, 9);
        Assert.Equal(2 * one.CornerTrailArcsec, two.CornerTrailArcsec, 9);
        Assert.Equal(one.Rotation.Radians * 3 * 3600, one.CornerTrailArcsec, 9);
    }

    [Fact]
    public void Pole_stars_are_where_the_apparent_place_puts_them()
    {
        // Polaris is nearest the pole about 2100, at 0.45 degree; near 2026 it stands 0.62 degree off (Meeus,
        // Mathematical Astronomy Morsels, 1997, from memory); sigma Octantis just over 1.1 degrees (from memory).
        var t = Instant.FromUtc(new DateTimeOffset(2026, 2, 1, 20, 0, 0, TimeSpan.Zero));
        var north = Site.FromDegrees(48, 11);
        PoleStarPosition polaris = PoleReference.PositionOf(PoleStar.For(north).First(), t, north);
        output.WriteLine($"Polaris {polaris.Distance.Arcminutes:F2} arcmin "
            + $"at {polaris.ClockFaceHours:F2} h of the clock, "
            + $"straight aim costs {polaris.WorstDriftArcsecPerMinute:F2} arcsec/min");
        Assert.Equal(37.4, polaris.Distance.Arcminutes, 0.7);
        Assert.Equal(polaris.Distance.Arcseconds * Rate * 60, polaris.WorstDriftArcsecPerMinute, 6);
        var south = Site.FromDegrees(-33, 20);
        PoleStarPosition sigma = PoleReference.PositionOf(PoleStar.For(south).First(), t, south);
        output.WriteLine($"sigma Oct {sigma.Distance.Arcminutes:F2} arcmin "
            + $"at {sigma.ClockFaceHours:F2} h of the clock");
        Assert.Equal(67.5, sigma.Distance.Arcminutes, 2.0);
        // Clock angle against altitude and azimuth: up and right in the eye's frame, facing the pole.
        foreach ((PoleStarPosition position, Site site) in new[] { (polaris, north), (sigma, south) })
        {
            Horizontal star = ApparentPlace.AltAz(position.Star.Place, t, site);
            // To the right is growing azimuth on both sides of the Earth.
            Angle right = (star.Azimuth - Angle.FromDegrees(site.IsSouthern ? 180 : 0)).WrappedSigned()
                * star.Altitude.Cos();
            Angle above = star.Altitude - site.Latitude.Abs();
            Assert.Equal((position.Distance * position.ClockAngle.Cos()).Arcminutes, above.Arcminutes, 1.0);
            Assert.Equal((position.Distance * position.ClockAngle.Sin()).Arcminutes, right.Arcminutes, 1.5);
        }
    }

    private static PolarMisalignment Misaligned(double highArcmin, double turnEastArcmin, double latitudeDeg)
    {
        var latitude = Angle.FromDegrees(latitudeDeg);
        return new PolarMisalignment(
            Angle.FromArcminutes(highArcmin), Angle.FromArcminutes(turnEastArcmin * latitude.Cos()), latitude);
    }

    /// <summary>Drift by turning vectors exactly: arcsec a minute west and north, turn in degrees a minute.</summary>
    private static (double West, double North, double TurnDeg) ExactDrift(
        HourAngleDeclination place, double latitudeDeg, double highArcmin, double eastArcmin, double seconds)
    {
        double rad = Math.PI / 180;
        double phi = latitudeDeg * rad;
        // East-north-up. The pole above the horizon, then the axis: raised by "high", turned east by "east" in azimuth.
        double poleAzimuth = latitudeDeg >= 0 ? 0 : Math.PI;
        int eastward = latitudeDeg >= 0 ? 1 : -1;
        double[] axis =
            EastNorthUp(poleAzimuth + (eastward * eastArcmin / 60 * rad), Math.Abs(phi) + (highArcmin / 60 * rad));
        if (latitudeDeg < 0)
        {
            axis = axis.Select(v => -v).ToArray();
        }

        double[] pole = { 0, Math.Cos(phi), Math.Sin(phi) };
        double[] star = Star(place.HourAngle.Radians, place.Declination.Radians, phi);
        double[] north = Subtract(pole, Scale(star, Dot(pole, star)));
        north = Scale(north, 1 / Math.Sqrt(Dot(north, north)));
        // West is where the sky turns to.
        double[] west = Scale(Cross(pole, star), -1);
        west = Scale(west, 1 / Math.Sqrt(Dot(west, west)));
        double angle = Rate * seconds;
        double[] Seen(double[] v) => Turn(Turn(v, pole, -angle), axis, angle);
        double[] moved = Subtract(Seen(star), star);
        double minutes = seconds / 60;
        // A second star a hair to the north shows the rotation of the field.
        const double Hair = 1e-4;
        double[] neighbour = Scale(star, Math.Cos(Hair)).Zip(Scale(north, Math.Sin(Hair)), (a, b) => a + b).ToArray();
        double[] shifted = Subtract(Subtract(Seen(neighbour), Seen(star)), Subtract(neighbour, star));
        double eastTurn = Math.Atan2(-Dot(shifted, west), Hair);
        return (Dot(moved, west) / rad * 3600 / minutes, Dot(moved, north) / rad * 3600 / minutes,
            eastTurn / rad / minutes);
    }

    private static double[] EastNorthUp(double azimuth, double altitude) => new[]
    {
        Math.Sin(azimuth) * Math.Cos(altitude), Math.Cos(azimuth) * Math.Cos(altitude), Math.Sin(altitude),
    };

    private static double[] Star(double hourAngle, double declination, double latitude)
    {
        // Equator's axes in east-north-up: meridian point, west point, pole.
        double[] meridian = { 0, -Math.Sin(latitude), Math.Cos(latitude) };
        double[] west = { -1, 0, 0 };
        double[] pole = { 0, Math.Cos(latitude), Math.Sin(latitude) };
        return Enumerable.Range(0, 3).Select(i =>
            (Math.Cos(declination) * ((Math.Cos(hourAngle) * meridian[i]) + (Math.Sin(hourAngle) * west[i])))
            + (Math.Sin(declination) * pole[i])).ToArray();
    }

    private static double[] Turn(double[] v, double[] axis, double angle)
    {
        double[] cross = Cross(axis, v);
        double along = Dot(axis, v);
        return Enumerable.Range(0, 3).Select(i =>
            (v[i] * Math.Cos(angle)) + (cross[i] * Math.Sin(angle)) + (axis[i] * along * (1 - Math.Cos(angle))))
            .ToArray();
    }

    private static double Dot(double[] a, double[] b) => (a[0] * b[0]) + (a[1] * b[1]) + (a[2] * b[2]);

    private static double[] Scale(double[] a, double k) => a.Select(v => v * k).ToArray();

    private static double[] Subtract(double[] a, double[] b) => a.Zip(b, (x, y) => x - y).ToArray();

    private static double[] Cross(double[] a, double[] b) => new[]
    {
        (a[1] * b[2]) - (a[2] * b[1]), (a[2] * b[0]) - (a[0] * b[2]), (a[0] * b[1]) - (a[1] * b[0]),
    };
}
