// From star frames to a rig's constants: the sky on the sensor from frames with the drive stopped, the drive's rate,
// periodic error and axis from frames with the drive on. Reading and fitting are host/frames'; here refraction is taken
// out, fields are joined, and the result is turned into what the rig file holds.

using Hourhinge.Frames;
using Hourhinge.SharedMath;
using Hourhinge.Sky;
using Angle = Hourhinge.Sky.Angle;

namespace Hourhinge.Calibration.Stars;

/// <summary>One field: its frames with the drive on, and where it stands.</summary>
/// <param name="Run">The frames laid over one another.</param>
/// <param name="Declination">Of the frame's middle, of date.</param>
/// <param name="HourAngle">Of the frame's middle at the first frame's mid-exposure, west positive.</param>
public sealed record StarField(RunAlignment Run, Angle Declination, Angle HourAngle);

/// <summary>What the stars say of a drive.</summary>
/// <param name="Sky">Direction and scale on the sensor.</param>
/// <param name="Fields">The fit of each field, the first one first.</param>
/// <param name="Axis">Axis error from all fields together.</param>
/// <param name="ExposureSec">Exposure.</param>
/// <param name="SpanSec">From the first to the last frame of the first field.</param>
public sealed record StarResult(StoppedResult Sky, IReadOnlyList<DriftResult> Fields, AxisError Axis, double ExposureSec, double SpanSec)
{
    /// <summary>The first field's drift: the drive's constants come from it.</summary>
    public DriftResult Drive => Fields[0];

    // What is left after the fit does not matter when it is this small a part of a pixel.
    private const double SmallRestPx = 0.1;

    /// <summary>Why not to act on it; empty for a sound result.</summary>
    public IReadOnlyList<string> Doubts => [.. Sky.Verdict.Reasons.Concat(Fields.SelectMany(f => f.Verdict.Reasons.Where(r => !IsSmallRest(f, r)))).Distinct()];

    /// <summary>What to know, although it does not speak against the result.</summary>
    public IReadOnlyList<string> Remarks => [.. Fields.SelectMany(f => f.Verdict.Reasons.Where(r => IsSmallRest(f, r))).Distinct()];

    private bool IsSmallRest(DriftResult field, string reason) =>
        reason.StartsWith("what is left after the fit", StringComparison.Ordinal)
        && field.NoiseArcsec.East < SmallRestPx * Sky.Sky.ArcsecPerPx && field.NoiseArcsec.North < SmallRestPx * Sky.Sky.ArcsecPerPx;
}

/// <summary>A new correction of the drive's rate, as the rig file holds it.</summary>
public sealed record RateCorrection(double Ppm, double SlopePpmPerHour, double CurvePpmPerHour2, double HoldMin);

/// <summary>The arithmetic between the fits and the rig file.</summary>
public static class StarCalibration
{
    /// <summary>
    /// What the model leaves out (second order in the drift, the shape of refraction, whole-second stamps), as measured on
    /// rehearsed runs whose truth is known (tests/unit/calibration/stars): one sigma, added in squares to what the noise gives.
    /// </summary>
    public const double RateFloorPercent = 0.003, AxisFloorArcmin = 0.3;

    /// <summary>The sky on the sensor from several stopped frames, weighted by what each knows of the scale; null when none will do.</summary>
    public static StoppedResult? Combine(IReadOnlyList<StoppedResult> stopped)
    {
        StoppedResult[] good = [.. stopped.Where(s => s.Verdict.Trusted)];
        StoppedResult[] used = good.Length > 0 ? good : [.. stopped];
        if (used.Length == 0)
        {
            return null;
        }

        double[] weights = [.. used.Select(s => 1 / Math.Pow(Math.Max(s.FocalLengthPx.Sigma, 1e-6), 2))];
        double sum = weights.Sum();
        double focal = used.Zip(weights, (s, w) => s.FocalLengthPx.Value * w).Sum() / sum;
        double first = used[0].Sky.WestAngleRad;
        double west = first + (used.Zip(weights, (s, w) => Math.IEEERemainder(s.Sky.WestAngleRad - first, 2 * Math.PI) * w).Sum() / sum);
        double sigma = Math.Sqrt(1 / sum);
        return used[0] with
        {
            Sky = used[0].Sky with { FocalLengthPx = focal, WestAngleRad = west },
            FocalLengthPx = new Estimate(focal, sigma, sigma * 1.96),
            Trails = used.Sum(s => s.Trails),
            Outliers = used.Sum(s => s.Outliers),
        };
    }

    /// <summary>Fits all fields; the first one carries the drive's constants.</summary>
    /// <param name="sky">Sky on the sensor.</param>
    /// <param name="fields">One field or more.</param>
    /// <param name="latitude">Of the site.</param>
    /// <param name="air">At the site; <see cref="Air.None"/> leaves refraction in.</param>
    /// <param name="exposureSec">Exposure.</param>
    /// <param name="nutTurnSec">Time of one nut turn: the period of the thread's error.</param>
    /// <returns>Null where a field cannot be fitted.</returns>
    public static StarResult? Solve(
        StoppedResult sky, IReadOnlyList<StarField> fields, Angle latitude, Air air, double exposureSec, double nutTurnSec)
    {
        var fits = new List<DriftResult>();
        var axes = new List<FieldAxis>();
        double span = 0;
        foreach (StarField field in fields)
        {
            DriftSample[] samples = WithoutRefraction(DriftSample.Of(field.Run), sky.Sky, field, latitude, air);
            var options = new DriftOptions(sky.Sky, field.Declination.Radians, exposureSec, nutTurnSec);
            if (DriftFit.Solve(samples, options) is not { } fit)
            {
                return null;
            }

            fit = fit with
            {
                RatePercent = Widened(fit.RatePercent, RateFloorPercent),
                EffectiveRatePercent = Widened(fit.EffectiveRatePercent, RateFloorPercent),
                AxisTowardFieldArcmin = Widened(fit.AxisTowardFieldArcmin, AxisFloorArcmin),
                AxisEastOfFieldArcmin = Widened(fit.AxisEastOfFieldArcmin, AxisFloorArcmin),
            };
            span = fits.Count == 0 ? samples[^1].TimeSeconds - samples[0].TimeSeconds : span;
            fits.Add(fit);
            axes.Add(new FieldAxis(
                fit.AxisTowardFieldArcmin,
                fit.AxisEastOfFieldArcmin,
                fit.AxisCorrelation,
                field.HourAngle.Radians + (Horizon.RotationRadPerSecond * fit.MidTimeSeconds)));
        }

        return new StarResult(sky, fits, AxisError.Of(axes, latitude.Radians), exposureSec, span);
    }

    /// <summary>
    /// The correction that makes the measured drive right: old factor / (1 + rate error), sampled over the run and fitted by
    /// a parabola in profile time, held from the run's end on.
    /// </summary>
    /// <param name="result">The fit.</param>
    /// <param name="old">The correction that was in use while the frames were taken.</param>
    /// <param name="firstMidSec">Profile time of the first frame's mid-exposure, s.</param>
    public static RateCorrection Correct(StarResult result, RateCorrection old, double firstMidSec)
    {
        DriftResult d = result.Drive;
        double from = Math.Max(0, firstMidSec) / 3600;
        double until = from + (result.SpanSec / 3600);
        double[] hours = [.. Enumerable.Range(0, 41).Select(i => from + ((until - from) * i / 40))];
        double[] factors = [.. hours.Select(h =>
        {
            double tau = h - ((firstMidSec + d.MidTimeSeconds) / 3600);
            double error = (d.RatePercent.Value + (d.RateChangePercentPerHour.Value * tau) + (d.RateCurvaturePercentPerHour2.Value * tau * tau / 2)) / 100;
            double held = Math.Min(h, old.HoldMin / 60);
            double before = 1 + (old.Ppm * 1e-6);
            before *= 1 + (((old.SlopePpmPerHour * held) + (old.CurvePpmPerHour2 * held * held)) * 1e-6);
            return before / (1 + error);
        })];
        // The rig's form is a product: (1 + c)(1 + slope t + curve t²).
        double[] p = MathNet.Numerics.Fit.Polynomial(hours, factors, 2);
        return new RateCorrection((p[0] - 1) * 1e6, p[1] / p[0] * 1e6, p[2] / p[0] * 1e6, until * 60);
    }

    /// <summary>The periodic error as the rig file holds it: micrometres along the rod, phase at profile time 0, degrees.</summary>
    public static (double AmplitudeUm, double SigmaUm, double PhaseDeg) Periodic(PeriodicTerm term, double leverMmPerRad, double firstMidSec)
    {
        double toUm = leverMmPerRad * 1000 / SharedMath.Angle.ArcsecPerRad;
        double phase = term.PhaseRad.Value - (2 * Math.PI * firstMidSec / term.PeriodSeconds.Value);
        return (term.AmplitudeArcsec.Value * toUm, term.AmplitudeArcsec.Sigma * toUm, Math.IEEERemainder(phase, 2 * Math.PI) / SharedMath.Angle.RadPerDeg);
    }

    private static Estimate Widened(Estimate e, double floorSigma)
    {
        double sigma = Math.Sqrt((e.Sigma * e.Sigma) + (floorSigma * floorSigma));
        return e with { Sigma = sigma, Half95 = Math.Max(e.Half95, 1.96 * sigma) };
    }

    private static DriftSample[] WithoutRefraction(
        IReadOnlyList<DriftSample> samples, SkyOnSensor sky, StarField field, Angle latitude, Air air)
    {
        var pattern = new RefractionPattern(new HourAngleDeclination(field.HourAngle, field.Declination), latitude, air);
        // The sensor's axes seen on the sky, to go back from arcsec to pixels.
        (double xe, double xn, _) = sky.ToSky(1, 0, 0);
        (double ye, double yn, _) = sky.ToSky(0, 1, 0);
        double turnSign = Math.Sign(sky.ToSky(0, 0, 1).Turn);
        double det = (xe * yn) - (ye * xn);
        return [.. samples.Select(s =>
        {
            (double east, double north, double turn) = pattern.At(s.TimeSeconds);
            return s with
            {
                ShiftXPx = s.ShiftXPx - (((east * yn) - (north * ye)) / det),
                ShiftYPx = s.ShiftYPx - (((north * xe) - (east * xn)) / det),
                RotationRad = s.RotationRad - (turnSign * turn / SharedMath.Angle.ArcsecPerRad),
            };
        })];
    }
}
