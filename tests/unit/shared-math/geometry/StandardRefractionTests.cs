// Refraction against published tables. Against ERFA: ErfaTests.
using Hourhinge.SharedMath.Geometry;

namespace Hourhinge.Tests.SharedMath.Geometry;

public class StandardRefractionTests
{
    // Pulkovo-type tables give 58" at 45° and 2' 40" at 20° altitude: from memory, to 1". Almanacs use 34' on the
    // horizon: from memory.
    [Theory]
    [InlineData(90, 0, 0.01)]
    [InlineData(45, 58.2, 1)]
    [InlineData(20, 158.8, 1)]
    [InlineData(0, 34 * 60, 60)]
    public void Refraction_is_that_of_the_tables(double altitudeDeg, double arcsec, double tolerance) => Assert.Equal(
        arcsec, AngleUnits.ToArcsec(StandardRefraction.FromApparentRad(AngleUnits.FromDeg(altitudeDeg), 1)), tolerance);

    [Fact]
    public void True_and_apparent_altitude_are_inverse()
    {
        for (double deg = -1; deg <= 90; deg += 0.37)
        {
            double apparent = AngleUnits.FromDeg(deg);
            double refraction = StandardRefraction.FromApparentRad(apparent, 0.9);
            Assert.Equal(AngleUnits.ToArcsec(refraction),
                AngleUnits.ToArcsec(StandardRefraction.FromTrueRad(apparent - refraction, 0.9)), 1e-5);
        }
    }

    // A step or a kink would spoil the rate, which is a slope.
    [Fact]
    public void The_curve_has_no_kink_from_the_horizon_to_the_zenith()
    {
        double last = double.NaN;
        for (double deg = 10; deg <= 89; deg += 0.1)
        {
            double slope = (At(deg + 0.05) - At(deg - 0.05)) / 0.1;
            Assert.False(Math.Abs(slope - last) > 1.6, $"{deg}°: {slope} after {last} arcsec a degree");
            last = slope;
        }

        static double At(double deg) =>
            AngleUnits.ToArcsec(StandardRefraction.FromApparentRad(AngleUnits.FromDeg(deg), 1));
    }
}
