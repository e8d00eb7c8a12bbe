// From star frames to a rig's constants: the sky on the sensor from frames with the drive stopped, the drive's rate,
// periodic error and axis from frames with the drive on. Reading and fitting are host/frames'; here the pointing's own
// error is added, fields are joined, and the result is turned into what the rig file holds.

using Hourhinge.Frames;
using Hourhinge.SharedMath;
using Hourhinge.Sky;
using Angle = Hourhinge.Sky.Angle;

namespace Hourhinge.Calibration.Stars;

/// <summary>One field: its frames with the drive on, and where it stands.</summary>
/// <param name="Run">The frames laid over one another.</param>
/// <param name="Sky">Direction and scale of the sky on the sensor: a camera turned to another field has another direction.</param>
/// <param name="Declination">Of the frame's middle, of date.</param>
/// <param name="HourAngle">Of the frame's middle at the first frame's mid-exposure, west positive.</param>
public sealed record StarField(RunAlignment Run, StoppedResult Sky, Angle Declination, Angle HourAngle);

/// <summary>What is known beside the frames.</summary>
/// <param name="Latitude">Of the site.</param>
/// <param name="Air">At the site; <see cref="Air.None"/> leaves refraction in.</param>
/// <param name="ExposureSec">Exposure.</param>
/// <param name="NutTurnSec">Time of one nut turn: the period of the thread's error.</param>
/// <param name="PointingSigma">Standard error of each field's declination and (on the sky) hour angle as given.</param>
public sealed record StarSetting(Angle Latitude, Air Air, double ExposureSec, double NutTurnSec, Angle PointingSigma);

/// <summary>What the stars say of a drive.</summary>
/// <param name="Sky">Direction and scale on the sensor, first field.</param>
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
    /// <param name="fields">One field or more.</param>
    /// <param name="setting">What is known beside the frames.</param>
    /// <returns>Null where a field cannot be fitted.</returns>
    public static StarResult? Solve(IReadOnlyList<StarField> fields, StarSetting setting)
    {
        var fits = new List<DriftResult>();
        var axes = new List<FieldAxis>();
        foreach (StarField field in fields)
        {
            if (WithPointing(field, setting) is not { } fit)
            {
                return null;
            }

            fits.Add(fit);
            axes.Add(new FieldAxis(
                fit.AxisTowardFieldArcmin,
                fit.AxisEastOfFieldArcmin,
                fit.AxisCorrelation,
                field.HourAngle.Radians + (Horizon.RotationRadPerSecond * fit.MidTimeSeconds)));
        }

        IReadOnlyList<AlignedFrame> first = fields[0].Run.Frames;
        double span = (first[^1].Info.MidUtc!.Value - first[0].Info.MidUtc!.Value).TotalSeconds;
        return new StarResult(fields[0].Sky, fits, AxisError.Of(axes, setting.Latitude.Radians), setting.ExposureSec, span);
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

    // A field that is not quite where it was said to be splits the drift differently: what a change of the declination
    // and of the hour angle by their standard errors makes of the result is added in squares.
    private static DriftResult? WithPointing(StarField field, StarSetting setting)
    {
        Angle sigma = setting.PointingSigma;
        Angle along = sigma / field.Declination.Cos();
        if (Fit(field, setting) is not { } fit
            || Fit(field with { Declination = field.Declination + sigma }, setting) is not { } north
            || Fit(field with { HourAngle = field.HourAngle + along }, setting) is not { } west)
        {
            return null;
        }

        // The field farther west names its axis against its own hour angle; both are told against the same one.
        double c = along.Cos(), s = along.Sin();
        double toward = west.AxisTowardFieldArcmin.Value, east = west.AxisEastOfFieldArcmin.Value;
        (double T, double E)[] shifts =
        [
            (north.AxisTowardFieldArcmin.Value - fit.AxisTowardFieldArcmin.Value, north.AxisEastOfFieldArcmin.Value - fit.AxisEastOfFieldArcmin.Value),
            ((c * toward) + (s * east) - fit.AxisTowardFieldArcmin.Value, (c * east) - (s * toward) - fit.AxisEastOfFieldArcmin.Value),
        ];
        Estimate t = Widened(fit.AxisTowardFieldArcmin, [.. shifts.Select(d => d.T)]);
        Estimate e = Widened(fit.AxisEastOfFieldArcmin, [.. shifts.Select(d => d.E)]);
        double mixed = (fit.AxisCorrelation * fit.AxisTowardFieldArcmin.Sigma * fit.AxisEastOfFieldArcmin.Sigma) + shifts.Sum(d => d.T * d.E);
        Estimate Wider(Func<DriftResult, Estimate> part) => Widened(part(fit), part(north).Value - part(fit).Value, part(west).Value - part(fit).Value);
        return fit with
        {
            RatePercent = Wider(r => r.RatePercent),
            EffectiveRatePercent = Wider(r => r.EffectiveRatePercent),
            RateChangePercentPerHour = Wider(r => r.RateChangePercentPerHour),
            RateCurvaturePercentPerHour2 = Wider(r => r.RateCurvaturePercentPerHour2),
            AxisTowardFieldArcmin = t,
            AxisEastOfFieldArcmin = e,
            AxisCorrelation = mixed / (t.Sigma * e.Sigma),
        };
    }

    private static Estimate Widened(Estimate e, params double[] shifts)
    {
        double sigma = Math.Sqrt((e.Sigma * e.Sigma) + shifts.Sum(d => d * d));
        return e with { Sigma = sigma, Half95 = e.Sigma > 0 ? e.Half95 * sigma / e.Sigma : 1.96 * sigma };
    }

    private static DriftResult? Fit(StarField field, StarSetting setting) => DriftFit.Solve(
        DriftSample.Of(field.Run),
        new DriftOptions(
            field.Sky.Sky,
            new FieldPlace(
                field.Declination.Radians, field.HourAngle.Radians, setting.Latitude.Radians, setting.Air, field.Run.WidthPx, field.Run.HeightPx),
            setting.ExposureSec,
            setting.NutTurnSec,
            ReferenceSeconds: field.Run.ReferenceSeconds));
}
