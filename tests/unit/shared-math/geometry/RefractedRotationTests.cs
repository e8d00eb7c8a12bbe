// The rate and the declination drift of refracted stars against ERFA's observed places along an hour of tracking
// (eraApco13 and eraAtioq; tests/reference/sky/make_refraction_tracking.py names the versions).
using Hourhinge.SharedMath.Geometry;
using Hourhinge.Tests.Host.Sky;
using Xunit.Abstractions;

namespace Hourhinge.Tests.SharedMath.Geometry;

public class RefractedRotationTests(ITestOutputHelper output)
{
    private const double ArcsecPerHour = 15.041067 * 3600;

    // Two limits: the constants of the two curves differ by 0.5 %, and below 25° so does their shape. ERFA's places
    // also contain the diurnal aberration, up to 1.5 ppm.
    [Theory]
    [InlineData(AxisAim.TruePole, "true")]
    [InlineData(AxisAim.RefractedPole, "refracted")]
    public void Rate_and_drift_agree_with_observed_places_along_an_hour(AxisAim aim, string axis)
    {
        var worst = new WorstDifference(output);
        foreach (ReferenceRow row in ReferenceTable.Read("refraction-tracking.csv"))
        {
            double latitude = row.Degrees("lat_deg").Radians;
            double declination = row.Degrees("dec_deg").Radians;
            double hourAngle = row.Degrees("ha_deg").Radians;
            string where = row.Number("alt_deg") >= 30 ? "above 30°" : "15° to 30°";
            RefractedRotation At(double minutes) => new(latitude, declination,
                hourAngle + (minutes * 60 * SkyRate.SiderealRadPerSec), 1, aim);

            // On the sky, where it blurs: the difference of the rates times the cosine of the declination.
            double ppm = ((At(0).RateFactor - 1) * 1e6) - row.Number($"{axis}_ppm");
            worst.Record($"rate {where}, ppm on the sky", ppm * Math.Cos(declination));
            // Simpson's rule over the hour.
            double rate = 0;
            double drift = 0;
            for (int i = 0; i <= 12; i++)
            {
                double weight = (i is 0 or 12 ? 1 : i % 2 == 1 ? 4 : 2) / 36.0;
                RefractedRotation motion = At((i - 6) * 5);
                rate += weight * (motion.RateFactor - 1);
                drift += weight * motion.DeclinationRate;
            }

            worst.Record($"hour angle over the hour {where}, arcsec on the sky",
                (rate - (row.Number($"{axis}_hour_ppm") * 1e-6)) * ArcsecPerHour * Math.Cos(declination));
            worst.Record($"declination over the hour {where}, arcsec",
                (drift * ArcsecPerHour) - row.Number($"{axis}_dec_arcsec"));
        }

        worst.AssertWithin("rate above 30°, ppm on the sky", 5, "ppm");
        worst.AssertWithin("hour angle over the hour above 30°, arcsec on the sky", 0.3, "arcsec");
        worst.AssertWithin("declination over the hour above 30°, arcsec", 0.2, "arcsec");
        worst.AssertWithin("rate 15° to 30°, ppm on the sky", 20, "ppm");
        worst.AssertWithin("hour angle over the hour 15° to 30°, arcsec on the sky", 1.2, "arcsec");
        worst.AssertWithin("declination over the hour 15° to 30°, arcsec", 1.2, "arcsec");
    }

    [Fact]
    public void The_profile_s_rate_is_that_about_the_refracted_pole()
    {
        foreach (ReferenceRow row in ReferenceTable.Read("refraction-tracking.csv"))
        {
            double declination = row.Degrees("dec_deg").Radians;
            double factor = SkyRate.RefractionRateFactor(
                row.Degrees("lat_deg").Radians, declination, row.Degrees("ha_deg").Radians);
            double limit = row.Number("alt_deg") >= 30 ? 5 : 20;
            Assert.Equal(row.Number("refracted_ppm"), (factor - 1) * 1e6, limit / Math.Cos(declination));
        }
    }

    // Refraction k tan z shrinks all distances from the zenith by 1 - k with k = 58.294" - 3 x 0 = 2.826e-4 near it.
    // About the true pole the rate shrinks by the same; about the refracted pole the two cancel. Follows from the
    // formula.
    [Theory]
    [InlineData(45)]
    [InlineData(-30)]
    [InlineData(60)]
    public void Overhead_the_rate_is_1_about_the_refracted_pole_and_282_ppm_less_about_the_true_one(double latitudeDeg)
    {
        double latitude = AngleUnits.FromDeg(latitudeDeg);
        double declination = latitude * (1 - 1e-5);
        Assert.Equal(-282.6, PpmAt(latitude, declination, AxisAim.TruePole), 0.5);
        // The cubic term of the pole's refraction is left.
        Assert.Equal(0, PpmAt(latitude, declination, AxisAim.RefractedPole), 1.5);
        Assert.Equal(PpmAt(latitude, declination, AxisAim.TruePole), PpmAt(latitude, latitude, AxisAim.TruePole), 0.1);
    }

    // At the equator of the sky the shift of the axis along the meridian is across the motion at H = 0.
    [Fact]
    public void On_the_equator_and_the_meridian_both_axes_have_the_same_rate() =>
        Assert.Equal(PpmAt(0.8, 0, AxisAim.TruePole), PpmAt(0.8, 0, AxisAim.RefractedPole), 0.5);

    [Fact]
    public void Without_air_the_sky_turns_at_the_earth_s_rate()
    {
        foreach (AxisAim aim in Enum.GetValues<AxisAim>())
        {
            var motion = new RefractedRotation(0.7, 0.3, -1.1, 0, aim);
            Assert.Equal(1, motion.RateFactor, 12);
            Assert.Equal(0, motion.DeclinationRate, 12);
        }
    }

    private static double PpmAt(double latitude, double declination, AxisAim aim) =>
        (new RefractedRotation(latitude, declination, 0, 1, aim).RateFactor - 1) * 1e6;
}
