using Hourhinge.SharedMath.Geometry;

namespace Hourhinge.Tests.SharedMath.Geometry;

public class SkyRateTests
{
    // IERS Conventions (2010), IERS Technical Note 36, table 1.2: 7.292115e-5 rad/s.
    [Fact]
    public void Sidereal_rate_is_that_of_the_IERS_in_arcseconds_and_degrees()
    {
        Assert.Equal(15.041067, AngleUnits.ToArcsec(SkyRate.SiderealRadPerSec), 6);
        Assert.Equal(0.250684, AngleUnits.ToDeg(SkyRate.SiderealRadPerSec) * 60, 6);
    }

    // Stellar day 86164.0989 s: Explanatory Supplement to the Astronomical Almanac (3rd ed.), from memory.
    [Fact]
    public void One_turn_at_the_sidereal_rate_takes_a_stellar_day() =>
        Assert.Equal(86164.0989, 2 * Math.PI / SkyRate.SiderealRadPerSec, 0.02);

    [Fact]
    public void The_sun_makes_fifteen_arcseconds_a_second() =>
        Assert.Equal(15.0, AngleUnits.ToArcsec(SkyRate.SolarRadPerSec), 9);

    // Mean lunar day 24 h 50.47 min: common practice, no source.
    [Fact]
    public void The_moon_comes_back_after_a_mean_lunar_day() =>
        Assert.Equal((24 * 60) + 50.47, 2 * Math.PI / SkyRate.LunarRadPerSec / 60, 0.05);

    [Fact]
    public void Degrees_and_arcseconds_come_back_as_they_went()
    {
        Assert.Equal(180.0, AngleUnits.ToDeg(Math.PI), 12);
        Assert.Equal(1296000.0, AngleUnits.ToArcsec(2 * Math.PI), 6);
        Assert.Equal(12.5, AngleUnits.ToDeg(AngleUnits.FromDeg(12.5)), 12);
        Assert.Equal(12.5, AngleUnits.ToArcsec(AngleUnits.FromArcsec(12.5)), 12);
    }

    // RefractionRateFactor against ERFA: RefractedRotationTests. A mean correction of about -0.03 % over a night's
    // hours and targets: common practice, no source.
    [Fact]
    public void Refraction_slows_the_sky_by_some_hundredths_of_a_percent_over_a_night()
    {
        double mean = Enumerable.Range(0, 4).Average(k => Enumerable.Range(-4, 9).Average(h =>
            SkyRate.RefractionRateFactor(AngleUnits.FromDeg(45), AngleUnits.FromDeg(20 * k),
                AngleUnits.FromDeg(15 * h))));
        Assert.InRange((mean - 1) * 100, -0.06, -0.01);
    }

    [Fact]
    public void Refraction_rate_is_one_below_ten_degrees_altitude() =>
        Assert.Equal(1.0, SkyRate.RefractionRateFactor(AngleUnits.FromDeg(45), AngleUnits.FromDeg(-40), 0), 12);
}
