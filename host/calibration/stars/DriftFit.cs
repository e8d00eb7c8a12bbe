// The joint linear fit of rate error, its change, axis error and periodic term to the drift east, the drift north and
// the rotation of the field, over a run of frames with the drive on. Pure functions on numbers.
//
// The sky turns about the pole P at ω, the camera about the axis P + e at ω(1 + r). A star field at declination δ then
// moves on the sensor, east, north and rotating from east to north, to first order as the integrals over time of
//   ω(r cosδ - e1 sinδ),   -ω e2,   ω(r sinδ + e1 cosδ)
// (the cross product of the relative rotation with the line of sight), where e1 points from the pole towards the
// field's hour angle and e2 a quarter turn east of that; both change with the hour angle while the axis stands still.
// These are the slopes of the fit (DriftModel); it compares them with the exact prediction (DriftPrediction).
using Hourhinge.Calibration.Orientation;
using Hourhinge.Frames.Matching;
using Hourhinge.Numerics;

namespace Hourhinge.Calibration.Stars;

/// <summary>One frame's place against the reference frame.</summary>
/// <param name="Name">For naming outliers.</param>
/// <param name="TimeSeconds">Middle of the exposure, seconds from any zero; stamps may err by ±0.5 s.</param>
/// <param name="ShiftXPx">Shift of the field at the frame's centre.</param>
/// <param name="ShiftYPx">Same, rows.</param>
/// <param name="RotationRad">Turn of the field, +x towards +y.</param>
/// <param name="SigmaShiftPx">Standard error of the shift.</param>
/// <param name="SigmaRotationRad">Standard error of the turn.</param>
/// <param name="Segment">Counts up at each bump of the tripod.</param>
/// <param name="Stars">Star pairs behind it.</param>
public sealed record DriftSample(
    string Name, double TimeSeconds, double ShiftXPx, double ShiftYPx, double RotationRad,
    double SigmaShiftPx, double SigmaRotationRad, int Segment, int Stars)
{
    /// <summary>Samples of an aligned run, times from the first frame's middle.</summary>
    public static IReadOnlyList<DriftSample> Of(RunAlignment run) => run.Frames.Select(f => new DriftSample(
        f.Info.Name, (f.Info.MidUtc!.Value - run.Frames[0].Info.MidUtc!.Value).TotalSeconds, f.Motion.ShiftXPx,
        f.Motion.ShiftYPx,
        f.Motion.RotationRad, Math.Max(f.Motion.SigmaShiftPx, 0.005), Math.Max(f.Motion.SigmaRotationRad, 1e-7),
        f.Segment, f.Motion.Pairs)).ToList();
}

/// <summary>What the fit takes as known.</summary>
/// <param name="Sky">Direction and scale of the sky on the sensor.</param>
/// <param name="Place">Where the camera looks, and through what air.</param>
/// <param name="ExposureSeconds">Exposure; a periodic term is averaged over it and the fit undoes that.</param>
/// <param name="PeriodSeconds">Period of the thread's error, usually one nut turn; null to fit no periodic
/// term.</param>
/// <param name="RateOrder">0 constant rate error, 1 changing evenly, 2 quadratically.</param>
/// <param name="ReferenceSeconds">Time of the frame that the shifts are counted from, on the samples' clock.</param>
/// <param name="SpotVariancePx2">Variance of a star that does not move, px², for the finder's window; infinity where
/// places are means over the exposure.</param>
public sealed record DriftOptions(
    SkyOnSensor Sky, FieldPlace Place, double ExposureSeconds, double? PeriodSeconds = null,
    int RateOrder = 2, double ReferenceSeconds = 0, double SpotVariancePx2 = double.PositiveInfinity);

/// <summary>The periodic term: amplitude·sin(2π t / period + phase), as hour angle, positive ahead of the
/// sky.</summary>
/// <param name="PeriodSeconds">Period, as given.</param>
/// <param name="AmplitudeArcsec">Amplitude, 0 to peak.</param>
/// <param name="PhaseRad">Phase at time zero of the samples.</param>
public sealed record PeriodicTerm(double PeriodSeconds, Estimate AmplitudeArcsec, Estimate PhaseRad);

/// <summary>One frame of the fit.</summary>
/// <param name="Name">Its name.</param>
/// <param name="TimeSeconds">Middle of its exposure on the samples' clock.</param>
/// <param name="EastArcsec">Where the field stood against the reference frame, on the sky.</param>
/// <param name="NorthArcsec">The same, north.</param>
/// <param name="EastResidualArcsec">Measured less fitted.</param>
/// <param name="NorthResidualArcsec">The same, north.</param>
public sealed record DriftResidual(
    string Name, double TimeSeconds, double EastArcsec, double NorthArcsec, double EastResidualArcsec,
    double NorthResidualArcsec);

/// <summary>The drive's constants. Rates are against the sidereal rate; refraction is taken out where air was
/// given.</summary>
/// <param name="MidTimeSeconds">Time at which rates and axis components hold: the middle of the run.</param>
/// <param name="EffectiveRatePercent">Rate error as seen along the sky's motion, axis left as it is: what a rate
/// correction alone must take away. Positive: the drive is fast.</param>
/// <param name="RatePercent">Rate error with the axis error's share separated by the field's turn.</param>
/// <param name="RateChangePercentPerHour">Its change with time.</param>
/// <param name="RateCurvaturePercentPerHour2">And the change of that.</param>
/// <param name="AxisTowardFieldArcmin">Axis error from the pole towards the field's hour angle at mid-run.</param>
/// <param name="AxisEastOfFieldArcmin">Axis error a quarter turn east of that: the component one field fixes
/// well.</param>
/// <param name="AxisCorrelation">Correlation of the two axis components, for combining fields.</param>
/// <param name="Periodic">The periodic term, where asked for and determinable.</param>
/// <param name="NoiseArcsec">Noise of one frame: east, north, turn at the frame's centre.</param>
/// <param name="Outliers">Frames the fit does not explain, named.</param>
/// <param name="Assessment">Whether to act on it.</param>
public sealed record DriftResult(
    double MidTimeSeconds, Estimate EffectiveRatePercent, Estimate RatePercent, Estimate RateChangePercentPerHour,
    Estimate RateCurvaturePercentPerHour2,
    Estimate AxisTowardFieldArcmin, Estimate AxisEastOfFieldArcmin, double AxisCorrelation, PeriodicTerm? Periodic,
    (double East, double North, double Turn) NoiseArcsec, IReadOnlyList<string> Outliers,
    CalibrationAssessment Assessment)
{
    /// <summary>Each frame against the fit, in the samples' order.</summary>
    public IReadOnlyList<DriftResidual> Frames { get; init; } = [];

    /// <summary>The rate error in arcsec/s of hour angle.</summary>
    public Estimate RateArcsecPerSec => RatePercent.Times(ApparentDrift.ArcsecPerSec / 100);
}

/// <summary>The joint fit.</summary>
public static class DriftFit
{
    private const double OutlierLimit = 5;

    /// <summary>Fits a run; null with fewer than 4 frames or where the frames do not determine the unknowns.</summary>
    public static DriftResult? Solve(IReadOnlyList<DriftSample> samples, DriftOptions options)
    {
        if (samples.Count < 4)
        {
            return null;
        }

        var model = new DriftModel(samples, options);
        double? period = options.PeriodSeconds;
        int order = Math.Min(options.RateOrder, samples.Count >= 10 ? 2 : samples.Count >= 6 ? 1 : 0);
        RobustLinearFit? fit = model.Fit(order, period);
        bool degenerate = fit is null && period is not null;
        if (degenerate)
        {
            period = null;
            fit = model.Fit(order, null);
        }
        if (fit is null)
        {
            return null;
        }

        int r = model.RateColumn, e = model.AxisColumn;
        double tan = Math.Tan(options.Place.DeclinationRad);
        var zero = new Estimate(0, double.PositiveInfinity, double.PositiveInfinity);
        const double Arcmin = ApparentDrift.ArcsecPerRad / 60;
        double correlation = fit.Covariance[e, e + 1] / Math.Sqrt(fit.Covariance[e, e] * fit.Covariance[e + 1, e + 1]);
        PeriodicTerm? periodic = period is { } found ? DriftModel.Periodic(fit, model, found) : null;
        // What the stars show along their way: of a turn about a crooked axis only the cosine counts, and e1's share
        // comes in.
        double square = (fit.Values[e] * fit.Values[e]) + (fit.Values[e + 1] * fit.Values[e + 1]);
        double speed = 1 + fit.Values[r];
        // A sine that the frames do not determine may take a part of the rate with it: what the fit without it says is
        // as likely.
        RobustLinearFit? without = periodic is { } p && !IsDetermined(p) ? model.Fit(order, null) : null;
        Estimate Combined(params (int Index, double Factor)[] terms) => without is null
            ? fit.Combine(terms)
            : WithDoubt(fit.Combine(terms), without.Combine(terms).Value);
        Estimate effective = Combined((r, 100), (e, -100 * tan * speed));
        var result = new DriftResult(model.MidTime,
            effective with { Value = effective.Value - (50 * square) }, Combined((r, 100)),
            order >= 1 ? Combined((r + 1, 100 * 3600)) : zero, order >= 2
            ? Combined((r + 2, 100 * 3600.0 * 3600))
            : zero,
            Combined((e, Arcmin)), Combined((e + 1, Arcmin)), correlation, periodic,
            model.Noise(fit), model.Outliers(fit, OutlierLimit), new CalibrationAssessment(Array.Empty<string>()));
        return result with
        {
            Assessment = DriftAssessment.Of(samples, options, model, fit, result, degenerate, period),
            Frames = model.Residuals(fit, order, period),
        };
    }

    /// <summary>True where the frames tell the amplitude to a third of it or 2 arcsec, and it is one that a thread can
    /// have.</summary>
    public static bool IsDetermined(PeriodicTerm term)
    {
        const double LargestArcsec = 300, KnownArcsec = 2, KnownShare = 0.3;
        double size = Math.Abs(term.AmplitudeArcsec.Value);
        return size < LargestArcsec && term.AmplitudeArcsec.Half95 < Math.Max(KnownArcsec, KnownShare * size);
    }

    private static Estimate WithDoubt(Estimate e, double other)
    {
        double off = e.Value - other;
        return new Estimate(e.Value, Math.Sqrt((e.Sigma * e.Sigma) + (off * off)),
            Math.Sqrt((e.Half95 * e.Half95) + (1.96 * 1.96 * off * off)));
    }
}
