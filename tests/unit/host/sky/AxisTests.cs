// Pole alignment and axis error. The judge for drift is an exact rotation in east-north-up coordinates, written here
// apart from the code under test, and the field rules of drift alignment (common practice, no source).
using Hourhinge.Numerics;
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
        var latitude = Angle.FromDegrees(latitudeDeg);
        var axis = PolarMisalignment.FromScrews(
            Angle.FromArcminutes(highArcmin), Angle.FromArcminutes(eastArcmin), latitude);
        (double west, double north, double turnDeg) = ExactDrift(place, latitudeDeg, highArcmin, eastArcmin, 60);
        Drift drift = axis.DriftAt(place);
        output.WriteLine($"west {drift.WestArcsecPerMinute:F4} exact {west:F4}; "
            + $"north {drift.NorthArcsecPerMinute:F4} exact {north:F4}; "
            + $"turn {axis.FieldRotationDegPerMinute(place):E4} exact {turnDeg:E4}");
        double scale = axis.Total.Arcseconds * Rate * 60;
        Assert.Equal(west, drift.WestArcsecPerMinute, 0.01 * scale);
        Assert.Equal(north, drift.NorthArcsecPerMinute, 0.01 * scale);
        Assert.Equal(turnDeg, axis.FieldRotationDegPerMinute(place), 0.01 * scale / 3600);
    }

    [Fact]
    public void Axis_is_found_again_from_exact_drift_of_one_star()
    {
        foreach ((double latitude, double high, double east) in new[] { (52.0, 4.2, -11.0), (35.0, -20.0, 3.0),
            (-40.0, 7.0, 15.0) })
        {
            var place = new HourAngleDeclination(Angle.FromHours(-2.5), Angle.FromDegrees(40));
            (double west, double north, double _) = ExactDrift(place, latitude, high, east, 600);
            // The star is measured over 10 minutes; its middle hour angle is what counts.
            HourAngleDeclination middle = place with { HourAngle = place.HourAngle + new Angle(Rate * 300) };
            var found = PolarMisalignment.FromDrift(
                new[] { new MeasuredDrift(middle, west, north) }, Angle.FromDegrees(latitude));
            output.WriteLine($"high {found.High.Arcminutes:F3} of {high}, "
                + $"east {found.EastInAzimuth.Arcminutes:F3} of {east} arcmin");
            Assert.Equal(high, found.High.Arcminutes, 0.25);
            Assert.Equal(east, found.EastInAzimuth.Arcminutes, 0.35);
        }
    }

    [Fact]
    public void Two_stars_with_declination_drift_alone_are_enough_and_one_is_refused()
    {
        var axis = PolarMisalignment.FromScrews(
            Angle.FromArcminutes(5), Angle.FromArcminutes(-8), Angle.FromDegrees(47));
        MeasuredDrift[] measured = new[] { (-5.5, 0.0), (0.2, 3.0) }.Select(p =>
        {
            var place = new HourAngleDeclination(Angle.FromHours(p.Item1), Angle.FromDegrees(p.Item2));
            return new MeasuredDrift(place, null, axis.DriftAt(place).NorthArcsecPerMinute);
        }).ToArray();
        var found = PolarMisalignment.FromDrift(measured, axis.Latitude);
        Assert.Equal(5, found.High.Arcminutes, 6);
        Assert.Equal(-8, found.EastInAzimuth.Arcminutes, 6);
        Assert.Throws<ArgumentException>(() => PolarMisalignment.FromDrift(measured.Take(1).ToArray(), axis.Latitude));
        var equator = new HourAngleDeclination(Angle.Zero, Angle.FromDegrees(0.1));
        Assert.Throws<ArgumentException>(() =>
            PolarMisalignment.FromDrift(new[] { new MeasuredDrift(equator, 1, 1) }, axis.Latitude));
    }

    [Fact]
    public void The_rules_of_drift_alignment_hold()
    {
        // Common practice, no source, northern sites: near the meridian and the equator a southward drift says "axis
        // too far east"; low in the east a northward drift says "axis too high".
        var latitude = Angle.FromDegrees(50);
        var meridian = new HourAngleDeclination(Angle.Zero, Angle.Zero);
        var east = new HourAngleDeclination(Angle.FromHours(-6), Angle.Zero);
        Assert.True(PolarMisalignment.FromScrews(Angle.Zero, Angle.FromArcminutes(10), latitude)
            .DriftAt(meridian).NorthArcsecPerMinute < -1);
        Assert.True(PolarMisalignment.FromScrews(Angle.FromArcminutes(10), Angle.Zero, latitude)
            .DriftAt(east).NorthArcsecPerMinute > 1);
        // Common practice, no source: an axis off by 5 arcmin drifts at most about 1.3 arcsec a minute.
        var off = PolarMisalignment.FromScrews(Angle.FromArcminutes(5), Angle.Zero, latitude);
        Assert.Equal(1.31, off.DriftAt(east).NorthArcsecPerMinute, 0.01);
    }

    [Fact]
    public void Refraction_is_taken_out_of_a_measured_drift()
    {
        // A perfect axis at plain sidereal rate: all that is measured is refraction, and nothing must be left.
        var latitude = Angle.FromDegrees(50);
        var place = new HourAngleDeclination(Angle.FromHours(-4), Angle.FromDegrees(15));
        RefractedMotion seen = RefractionDrift.At(place, latitude, Air.Standard);
        Assert.True(Math.Abs(seen.DeclinationArcsecPerMinute) > 0.1);
        MeasuredDrift left = new MeasuredDrift(place, seen.WestArcsecPerMinute, seen.DeclinationArcsecPerMinute)
            .WithoutRefraction(1, latitude, Air.Standard);
        var axis = PolarMisalignment.FromDrift(new[] { left }, latitude);
        Assert.True(axis.Total.Arcseconds < 1e-6);
    }

    [Fact]
    public void Exposure_blur_grows_with_time_and_distance()
    {
        var axis = PolarMisalignment.FromScrews(Angle.FromArcminutes(20), Angle.Zero, Angle.FromDegrees(50));
        var place = new HourAngleDeclination(Angle.Zero, Angle.FromDegrees(20));
        ExposureBlur one = axis.BlurOver(place, 60, Angle.FromDegrees(3));
        ExposureBlur two = axis.BlurOver(place, 120, Angle.FromDegrees(3));
        Assert.Equal(2 * one.DriftArcsec, two.DriftArcsec, 9);
        Assert.Equal(2 * one.CornerTrailArcsec, two.CornerTrailArcsec, 9);
        Assert.Equal(one.Rotation.Radians * 3 * 3600, one.CornerTrailArcsec, 9);
    }

    [Fact]
    public void Pole_stars_stand_where_the_rigorous_place_puts_them()
    {
        // Polaris is nearest the pole about 2100, at 0.45 degree; near 2026 it stands 0.62 degree off (Meeus,
        // Mathematical Astronomy Morsels, 1997, from memory); sigma Octantis just over 1.1 degrees (from memory).
        var t = Instant.FromUtc(new DateTimeOffset(2026, 2, 1, 20, 0, 0, TimeSpan.Zero));
        var north = Site.FromDegrees(48, 11);
        PoleStarStand polaris = PoleReference.StandOf(PoleStar.For(north).First(), t, north, Air.None);
        output.WriteLine($"Polaris {polaris.Distance.Arcminutes:F2} arcmin "
            + $"at {polaris.ClockFaceHours:F2} h of the clock, "
            + $"straight aim costs {polaris.WorstDriftArcsecPerMinute:F2} arcsec/min");
        Assert.Equal(37.4, polaris.Distance.Arcminutes, 0.7);
        Assert.Equal(polaris.Distance.Arcseconds * Rate * 60, polaris.WorstDriftArcsecPerMinute, 6);
        var south = Site.FromDegrees(-33, 20);
        PoleStarStand sigma = PoleReference.StandOf(PoleStar.For(south).First(), t, south, Air.None);
        output.WriteLine($"sigma Oct {sigma.Distance.Arcminutes:F2} arcmin "
            + $"at {sigma.ClockFaceHours:F2} h of the clock");
        Assert.Equal(67.5, sigma.Distance.Arcminutes, 2.0);
        // Clock angle against altitude and azimuth: up and right in the eye's frame, facing the pole.
        foreach ((PoleStarStand stand, Angle right) in new[]
        {
            (polaris, polaris.EastInAzimuth * Math.Cos(48 * Math.PI / 180)),
            (sigma, -sigma.EastInAzimuth * Math.Cos(33 * Math.PI / 180)),
        })
        {
            Assert.Equal((stand.Distance * stand.ClockAngle.Cos()).Arcminutes, stand.AboveInAltitude.Arcminutes, 1.0);
            Assert.Equal((stand.Distance * stand.ClockAngle.Sin()).Arcminutes, right.Arcminutes, 1.5);
        }
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
        // A second star a Hair to the north shows the turn of the field.
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
