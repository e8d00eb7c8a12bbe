// Computes the corrections of the rig file from a measured drive.

using Hourhinge.Rig;
using Hourhinge.SharedMath.Compile;
using Hourhinge.SharedMath.Geometry;

namespace Hourhinge.Calibration.Stars;

/// <summary>A correction of the drive's rate: the factor (1 + ppm)(1 + slope·t + curve·t²), constant after the
/// hold.</summary>
/// <param name="Ppm">At the start of the profile, ppm; positive makes the drive faster.</param>
/// <param name="SlopePpmPerHour">Its change, ppm per hour.</param>
/// <param name="CurvePpmPerHour2">Quadratic term, ppm per hour².</param>
/// <param name="HoldMin">Profile time after which the correction stays constant, minutes.</param>
public sealed record RateCorrection(double Ppm, double SlopePpmPerHour, double CurvePpmPerHour2, double HoldMin);

/// <summary>A periodic error along the rod.</summary>
/// <param name="AmplitudeUm">Amplitude, 0 to peak, micrometres, not negative.</param>
/// <param name="SigmaUm">Its standard error.</param>
/// <param name="PhaseDeg">Phase at profile time 0, degrees, -180 to 180.</param>
public sealed record PeriodicCorrection(double AmplitudeUm, double SigmaUm, double PhaseDeg);

/// <summary>What a star calibration changes in the rig file.</summary>
/// <param name="Rate">The new rate correction.</param>
/// <param name="Periodic">The periodic error found; null where it is not significant.</param>
/// <param name="FirstMidSec">Profile time of the first frame's mid-exposure, s.</param>
public sealed record StarCorrections(RateCorrection Rate, PeriodicCorrection? Periodic, double FirstMidSec)
{
    private const int Samples = 41;

    /// <summary>Computes the corrections.</summary>
    /// <param name="rig">The rig with the corrections that were in use while the frames were taken.</param>
    /// <param name="design">Its drive.</param>
    /// <param name="result">The fit.</param>
    /// <param name="firstMidSec">Profile time of the first frame's mid-exposure, s.</param>
    public static StarCorrections Of(RigDescription rig, DriveDesign design, StarResult result, double firstMidSec)
    {
        var old = new RateCorrection(rig.Rate.CorrectionPpm, rig.Rate.Change.SlopePpmPerHour,
            rig.Rate.Change.CurvePpmPerHour2, rig.Rate.Change.HoldMin);
        PeriodicTerm? term = result.Drive.Periodic;
        bool significant = term != null && DriftFit.IsDetermined(term)
            && Math.Abs(term.AmplitudeArcsec.Value) > term.AmplitudeArcsec.Half95;
        return new StarCorrections(
            RateFor(result, old, firstMidSec, FollowedRatio(rig)),
            significant ? PeriodicFor(term!, rig.Hinge.RodSlopeMmPerRad(design.StartAngleRad), firstMidSec) : null,
            firstMidSec);
    }

    // The profile may follow refracted stars, which turn slower than the sky: a drive that does so is not slow.
    private static double FollowedRatio(RigDescription rig) =>
        RigDrive.RateRadPerSec(rig with { Rate = rig.Rate.Uncorrected }) / SkyRate.SiderealRadPerSec;

    /// <summary>
    /// The correction that makes the measured drive right: old factor / (1 + rate error), sampled over the run and
    /// fitted by a parabola in profile time, held from the run's end on.
    /// </summary>
    /// <param name="result">The fit.</param>
    /// <param name="old">The correction that was in use while the frames were taken.</param>
    /// <param name="firstMidSec">Profile time of the first frame's mid-exposure, s.</param>
    /// <param name="followed">Rate that the profile follows, without correction, over the sky's.</param>
    public static RateCorrection RateFor(StarResult result, RateCorrection old, double firstMidSec,
        double followed = 1)
    {
        DriftResult d = result.Drive;
        double from = Math.Max(0, firstMidSec) / 3600;
        double until = from + (result.SpanSec / 3600);
        double[] hours = [.. Enumerable.Range(0, Samples).Select(i => from + ((until - from) * i / (Samples - 1)))];
        double[] factors = [.. hours.Select(h =>
        {
            double tau = h - ((firstMidSec + d.MidTimeSeconds) / 3600);
            double error = (d.RatePercent.Value + (d.RateChangePercentPerHour.Value * tau)
                + (d.RateCurvaturePercentPerHour2.Value * tau * tau / 2)) / 100;
            double held = Math.Min(h, old.HoldMin / 60);
            double before = 1 + (old.Ppm * 1e-6);
            before *= 1 + (((old.SlopePpmPerHour * held) + (old.CurvePpmPerHour2 * held * held)) * 1e-6);
            return before * followed / (1 + error);
        })];
        // The rig's form is a product: (1 + c)(1 + slope t + curve t²).
        double[] p = MathNet.Numerics.Fit.Polynomial(hours, factors, 2);
        return new RateCorrection((p[0] - 1) * 1e6, p[1] / p[0] * 1e6, p[2] / p[0] * 1e6, until * 60);
    }

    /// <summary>The periodic error as the rig file holds it.</summary>
    /// <param name="term">As fitted, in hour angle and the frames' time.</param>
    /// <param name="leverMmPerRad">Rod length per angle at the start of the travel, mm/rad.</param>
    /// <param name="firstMidSec">Profile time of the first frame's mid-exposure, s.</param>
    public static PeriodicCorrection PeriodicFor(PeriodicTerm term, double leverMmPerRad, double firstMidSec)
    {
        double toUm = leverMmPerRad * 1000 / AngleUnits.ArcsecPerRad;
        double amplitude = term.AmplitudeArcsec.Value * toUm;
        double phase = term.PhaseRad.Value - (2 * Math.PI * firstMidSec / term.PeriodSeconds)
            + (amplitude < 0 ? Math.PI : 0);
        return new PeriodicCorrection(Math.Abs(amplitude), term.AmplitudeArcsec.Sigma * Math.Abs(toUm),
            Math.IEEERemainder(phase, 2 * Math.PI) / AngleUnits.RadPerDeg);
    }
}
