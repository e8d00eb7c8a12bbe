using Hourhinge.Calibration;
using Hourhinge.Calibration.Stars;
using Hourhinge.Numerics;

namespace Hourhinge.Tests.Host.Calibration.Stars;

public class StarCorrectionsTests
{
    private static readonly Estimate _zero = new(0, 0.001, 0.002);
    private static readonly RateCorrection _none = new(0, 0, 0, 0);

    /// <summary>A drive that runs at 1.01 of the sky's rate is right when commanded at 1/1.01: -9901 ppm.</summary>
    [Theory]
    [InlineData(1, -9900.990099)]
    [InlineData(-1, 10101.010101)]
    public void A_drive_measured_fast_is_slowed_down(double ratePercent, double expectedPpm)
    {
        RateCorrection found = StarCorrections.RateFor(Result(ratePercent, 0), _none, 100);
        Assert.Equal(expectedPpm, found.Ppm, 3);
        Assert.Equal(0, found.SlopePpmPerHour, 3);
    }

    [Fact]
    public void A_rate_that_grows_is_countered_and_the_old_correction_stays_in_the_product()
    {
        // Fast by 0.1 % at mid-run (profile hour 0.5), and by 0.2 % an hour more later on.
        RateCorrection found = StarCorrections.RateFor(Result(0.1, 0.2), new RateCorrection(500, 0, 0, 0), 0);
        double At(double h) => (1 + (found.Ppm * 1e-6))
            * (1 + (((found.SlopePpmPerHour * h) + (found.CurvePpmPerHour2 * h * h)) * 1e-6));
        foreach (double hour in new[] { 0, 0.25, 0.5, 1 })
        {
            double drive = 1 + ((0.1 + (0.2 * (hour - 0.5))) / 100);
            Assert.Equal(1.0005, At(hour) * drive, 7);
        }

        Assert.Equal(60, found.HoldMin, 6);
    }

    /// <summary>
    /// 10 arcsec at 229.2 mm are 11.112 µm. The profile began a quarter of a period before the samples' time zero, so
    /// the phase was 90 degrees less then.
    /// </summary>
    [Fact]
    public void A_periodic_term_becomes_a_length_and_a_phase_at_profile_start()
    {
        var term = new PeriodicTerm(60, new Estimate(10, 1, 2), new Estimate(0.5, 0.1, 0.2));
        PeriodicCorrection found = StarCorrections.PeriodicFor(term, 229.2, 15);
        Assert.Equal(229.2 * 1000 * 10 / 206264.806, found.AmplitudeUm, 6);
        Assert.Equal((0.5 * 180 / Math.PI) - 90, found.PhaseDeg, 9);
    }

    private static StarResult Result(double ratePercent, double changePercentPerHour)
    {
        var assessment = new CalibrationAssessment([]);
        Estimate Known(double value) => _zero with { Value = value };
        var drift = new DriftResult(1800, Known(ratePercent), Known(ratePercent), Known(changePercentPerHour), _zero,
            _zero, _zero, 0, null, (1, 1, 1), [], assessment);
        return new StarResult([], [drift], new AxisError(_zero, _zero, _zero, 0, 0), 30, 3600);
    }
}
