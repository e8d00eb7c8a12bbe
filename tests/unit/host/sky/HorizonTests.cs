// Altitude and azimuth: parallactic angle and the sky's motion against differences of the place itself, and the
// apparent rate under refraction against ERFA (refraction-rate.csv, see make_reference.py).
using Hourhinge.Numerics;
using Hourhinge.Sky.Observing;
using Hourhinge.Sky.Places;
using Xunit.Abstractions;

namespace Hourhinge.Tests.Host.Sky;

public class HorizonTests(ITestOutputHelper output)
{
    public static TheoryData<double, double, double> Places => new TheoryData<double, double, double>
    {
        { 52, -3.2, 20 }, { 52, 4.1, 60 }, { -33, 1.7, -50 }, { -33, -5, 10 }, { 5, 2, 70 }, { 66, 11, 75 },
    };

    [Fact]
    public void The_sky_turns_a_quarter_of_a_degree_a_minute()
    {
        // Common practice, no source.
        Assert.Equal(0.25, Angle.FromRadians(Horizon.RotationRadPerSecond * 60).Degrees, 0.001);
    }

    [Theory]
    [MemberData(nameof(Places))]
    public void Parallactic_angle_is_the_position_angle_of_the_zenith(double latitude, double hours, double declination)
    {
        var place = new HourAngleDeclination(Angle.FromHours(hours), Angle.FromDegrees(declination));
        // With sidereal time zero a right ascension is a hour angle with the sign turned.
        var star = new Equatorial(-place.HourAngle, place.Declination);
        var zenith = new Equatorial(Angle.Zero, Angle.FromDegrees(latitude));
        Angle angle = Horizon.ParallacticAngle(place, Angle.FromDegrees(latitude));
        Assert.Equal(0, (angle - star.PositionAngleTo(zenith)).WrappedSigned().Arcseconds, 1e-6);
    }

    [Theory]
    [MemberData(nameof(Places))]
    public void Motion_is_the_difference_of_two_places(double latitude, double hours, double declination)
    {
        var phi = Angle.FromDegrees(latitude);
        var place = new HourAngleDeclination(Angle.FromHours(hours), Angle.FromDegrees(declination));
        Horizontal At(double seconds) => Horizon.FromHourAngle(place with
        {
            HourAngle = place.HourAngle + new Angle(Horizon.RotationRadPerSecond * seconds),
        }, phi);
        SkyMotion motion = Horizon.Motion(place, phi);
        double up = (At(1).Altitude - At(-1).Altitude).Arcseconds / 2;
        double right = (At(1).Azimuth - At(-1).Azimuth).WrappedSigned().Arcseconds / 2 * At(0).Altitude.Cos();
        Assert.Equal(up, motion.UpArcsecPerSecond, 1e-5);
        Assert.Equal(right, motion.RightArcsecPerSecond, 1e-5);
        Assert.Equal(15.041067 * Math.Cos(declination * Math.PI / 180), motion.SpeedArcsecPerSecond, 1e-5);
        Assert.Equal(motion.UpArcsecPerSecond, motion.SpeedArcsecPerSecond * motion.ClockAngle.Cos(), 1e-9);
        Assert.Equal(motion.RightArcsecPerSecond, motion.SpeedArcsecPerSecond * motion.ClockAngle.Sin(), 1e-9);
    }

    [Fact]
    public void Refracted_rate_and_drift_agree_with_observed_places()
    {
        var worst = new Worst(output);
        foreach (ReferenceRow row in ReferenceTable.Read("refraction-rate.csv"))
        {
            var place = new HourAngleDeclination(row.Degrees("ha_deg"), row.Degrees("dec_deg"));
            var air = new Air(row.Number("pressure_hpa"), row.Number("temperature_c"));
            RefractedMotion motion = RefractionDrift.At(place, row.Degrees("lat_deg"), air);
            // On the sky, where it blurs: ppm of 902 arcsec a minute times cos(declination).
            worst.Note("westward drift", (motion.RateCorrectionPpm - row.Number("rate_ppm")) * 1e-6
                * 902.464 * place.Declination.Cos());
            worst.Note("northward drift", motion.DeclinationArcsecPerMinute - row.Number("dec_arcsec_per_min"));
            worst.Note("size of the northward drift itself", row.Number("dec_arcsec_per_min"));
        }

        worst.AssertWithin("westward drift", 0.05, "arcsec/min");
        worst.AssertWithin("northward drift", 0.05, "arcsec/min");
        worst.AssertWithin("size of the northward drift itself", 10, "arcsec/min");
    }

    [Fact]
    public void Overhead_the_refracted_sky_runs_slow_by_the_refraction_constant()
    {
        // All altitudes shrink towards the zenith by 58.2 arcsec per radian: 2.82e-4 (about -0.03 %, the mean
        // correction near the pole; King 1931, from memory).
        var place = new HourAngleDeclination(Angle.Zero, Angle.FromDegrees(45));
        RefractedMotion motion = RefractionDrift.At(place, Angle.FromDegrees(45), Air.Standard);
        output.WriteLine($"overhead: {motion.RateCorrectionPpm:F1} ppm");
        Assert.Equal(-282, motion.RateCorrectionPpm, 3.0);
        // Driving at the mean apparent rate of a run leaves less trail in its middle than plain sidereal.
        var start = new HourAngleDeclination(Angle.FromHours(3), Angle.FromDegrees(20));
        double ratio = RefractionDrift.MeanRateRatio(start, 60, Angle.FromDegrees(45), Air.Standard);
        HourAngleDeclination middle = start with { HourAngle = start.HourAngle + Angle.FromHours(0.5) };
        Assert.True(RefractionDrift.TrailArcsec(middle, ratio, 60, Angle.FromDegrees(45), Air.Standard)
            < RefractionDrift.TrailArcsec(middle, 1, 60, Angle.FromDegrees(45), Air.Standard));
    }
}
