// Worked examples of Meeus, Astronomical Algorithms, 2nd edition (Willmann-Bell 1998). Every figure here is quoted
// from memory; example numbers beside each. Dates given there in dynamical time are turned to UTC first.
using Hourhinge.Numerics;
using Hourhinge.Sky.Bodies;
using Hourhinge.Sky.Observing;
using Hourhinge.Sky.Places;
using Hourhinge.Sky.Time;

namespace Hourhinge.Tests.Host.Sky;

public class PublishedExampleTests
{
    [Fact]
    public void Example_12a_and_12b_sidereal_time()
    {
        // UT there is UT1; the example gives mean 13h10m46.3668s, apparent 13h10m46.1351s, and 8h34m57.0896s.
        Instant midnight = Utc(1987, 4, 10);
        Near(Angle.FromHms(13, 10, 46.3668), SiderealTime.GreenwichMean(midnight), 0.1);
        Near(Angle.FromHms(13, 10, 46.1351), SiderealTime.GreenwichApparent(midnight), 0.1);
        Near(Angle.FromHms(8, 34, 57.0896), SiderealTime.GreenwichMean(midnight.PlusHours(19.35)), 0.1);
    }

    [Fact]
    public void Example_13b_altitude_and_azimuth()
    {
        Instant t = Utc(1987, 4, 10).PlusHours(19.35);
        var site = new Site(Angle.FromDms(false, 38, 55, 17), Angle.FromDms(true, 77, 3, 56));
        var venus = new Equatorial(Angle.FromHms(23, 9, 16.641), Angle.FromDms(true, 6, 43, 11.61));
        Horizontal seen = Horizon.FromEquatorial(venus, t, site);
        Near(Angle.FromDegrees(15.1249), seen.Altitude, 1);
        // Counted from south there: 68.0337.
        Near(Angle.FromDegrees(248.0337), seen.Azimuth, 1);
    }

    [Fact]
    public void Example_17a_angular_separation()
    {
        var arcturus = new Equatorial(Angle.FromDegrees(213.9154), Angle.FromDegrees(19.1825));
        var spica = new Equatorial(Angle.FromDegrees(201.2983), Angle.FromDegrees(-11.1614));
        Assert.Equal(32.7930, arcturus.SeparationFrom(spica).Degrees, 4);
    }

    [Fact]
    public void Example_22a_nutation_and_obliquity()
    {
        var nutation = Nutation.At(Dynamical(1987, 4, 10, 55.184));
        Assert.Equal(-3.788, nutation.Longitude.Arcseconds, 1.5e-2);
        Assert.Equal(9.443, nutation.Obliquity.Arcseconds, 1.5e-2);
        // Mean obliquity by the older formula there: 23 26' 27.407"; the 2006 one lies 0.04" lower.
        Near(Angle.FromDms(false, 23, 26, 27.407), nutation.TrueObliquity - nutation.Obliquity, 0.06);
    }

    [Fact]
    public void Example_23a_apparent_place()
    {
        Equatorial place = ApparentPlace.Of(ThetaPersei, Dynamical(2028, 11, 13.19, 69.184));
        Near(Angle.FromHms(2, 46, 14.390), place.RightAscension, 0.3);
        Near(Angle.FromDms(false, 49, 21, 7.45), place.Declination, 0.2);
    }

    [Fact]
    public void Example_25b_sun()
    {
        Instant t = Dynamical(1992, 10, 13, 59.184);
        Equatorial sun = Sun.Apparent(t);
        Near(Angle.FromDegrees(198.378178), sun.RightAscension, 2);
        Near(Angle.FromDms(true, 7, 47, 1.74), sun.Declination, 2);
        Assert.Equal(0.99760775, Sun.DistanceAu(t), 2e-5);
    }

    [Fact]
    public void Examples_47a_and_48a_moon()
    {
        Instant t = Dynamical(1992, 4, 12, 58.184);
        (Angle longitude, Angle latitude, double distance) = Moon.Ecliptic(t);
        Near(Angle.FromDegrees(133.162655), longitude, 40);
        Near(Angle.FromDegrees(-3.229126), latitude, 40);
        Assert.Equal(368409.7, distance, 40.0);
        Near(Angle.FromDegrees(134.688470), Moon.Apparent(t).RightAscension, 40);
        Near(Angle.FromDegrees(13.768368), Moon.Apparent(t).Declination, 40);
        Assert.Equal(0.6786, Moon.Phase(t).IlluminatedFraction, 3e-4);
        Assert.Equal(69.0756, Moon.Phase(t).PhaseAngle.Degrees, 0.02);
        Assert.True(Moon.Phase(t).IsWaxing);
    }

    [Fact]
    public void Airmass_and_horizontal_refraction_are_the_published_ones()
    {
        // Kasten and Young 1989: about 38 at the horizon, 5.6 at 10 degrees (from memory).
        Assert.Equal(37.92, Airmass.At(Angle.Zero), 0.1);
        Assert.Equal(5.58, Airmass.At(Angle.FromDegrees(10)), 0.02);
        Assert.Equal(1.0, Airmass.At(Angle.FromDegrees(90)), 0.001);
        Assert.Equal(double.PositiveInfinity, Airmass.At(Angle.FromDegrees(-1)));
        // The almanacs take 34 arcmin on the horizon (from memory).
        Assert.Equal(34.0, Refraction.FromApparent(Angle.Zero, Air.Standard).Arcminutes, 1.0);
        Assert.Equal(0.0, Refraction.FromApparent(Angle.FromDegrees(45), Air.None).Arcminutes, 1e-9);
    }

    private static CataloguePlace ThetaPersei => new CataloguePlace(
        new Equatorial(Angle.FromHms(2, 44, 11.986), Angle.FromDms(false, 49, 13, 42.48)),
        // 0.03425 s a year in right ascension, as an arc on the sky.
        0.03425 * 15 * Angle.FromDms(false, 49, 13, 42.48).Cos(), -0.0895);

    private static Instant Utc(int year, int month, double day) =>
        Instant.FromUtc(new DateTimeOffset(year, month, 1, 0, 0, 0, TimeSpan.Zero)).PlusDays(day - 1);

    private static Instant Dynamical(int year, int month, double day, double ttMinusUtcSeconds) =>
        Utc(year, month, day).PlusSeconds(-ttMinusUtcSeconds);

    private static void Near(Angle expected, Angle actual, double arcsec)
    {
        double off = (actual - expected).WrappedSigned().Arcseconds;
        Assert.True(Math.Abs(off) <= arcsec, $"Off by {off:F3} arcsec, limit {arcsec}.");
    }
}
