// The rate of refracted stars in any air against ERFA (refraction-rate.csv, see make_reference.py). In standard air
// over an hour: RefractedRotationTests.
using Hourhinge.Numerics;
using Hourhinge.SharedMath.Geometry;
using Hourhinge.Sky.Observing;
using Hourhinge.Sky.Places;
using Xunit.Abstractions;

namespace Hourhinge.Tests.Host.Sky;

public class HorizonTests(ITestOutputHelper output)
{
    [Fact]
    public void The_sky_turns_a_quarter_of_a_degree_a_minute()
    {
        // Common practice, no source.
        Assert.Equal(0.25, Angle.FromRadians(Horizon.RotationRadPerSecond * 60).Degrees, 0.001);
    }

    [Fact]
    public void Refracted_rate_and_drift_agree_with_observed_places()
    {
        var worst = new WorstDifference(output);
        foreach (ReferenceRow row in ReferenceTable.Read("refraction-rate.csv"))
        {
            var place = new HourAngleDeclination(row.Degrees("ha_deg"), row.Degrees("dec_deg"));
            var air = new Air(row.Number("pressure_hpa"), row.Number("temperature_c"));
            RefractedMotion motion = RefractionDrift.At(place, row.Degrees("lat_deg"), air, AxisAim.TruePole);
            // On the sky, where it blurs: ppm of 902 arcsec a minute times cos(declination).
            worst.Record("westward drift", (((motion.RateRatio - 1) * 1e6) - row.Number("rate_ppm")) * 1e-6
                * 902.464 * place.Declination.Cos());
            worst.Record("northward drift", motion.DeclinationArcsecPerMinute - row.Number("dec_arcsec_per_min"));
            worst.Record("size of the northward drift itself", row.Number("dec_arcsec_per_min"));
        }

        worst.AssertWithin("westward drift", 0.05, "arcsec/min");
        worst.AssertWithin("northward drift", 0.05, "arcsec/min");
        worst.AssertWithin("size of the northward drift itself", 10, "arcsec/min");
    }

    [Theory]
    [InlineData(AxisAim.TruePole, -282)]
    [InlineData(AxisAim.RefractedPole, 0)]
    public void Overhead_the_rate_depends_on_the_pole_that_the_axis_points_at(AxisAim aim, double ppm)
    {
        // Refraction shrinks all distances from the zenith by 58.2 arcsec per radian, 2.82e-4; about the refracted pole
        // the pole's distance shrinks as well.
        var place = new HourAngleDeclination(Angle.Zero, Angle.FromDegrees(45));
        RefractedMotion motion = RefractionDrift.At(place, Angle.FromDegrees(45), Air.Standard, aim);
        Assert.Equal(ppm, (motion.RateRatio - 1) * 1e6, 3.0);
    }
}
