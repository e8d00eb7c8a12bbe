// The steps of the drift fit: the residuals of the exact prediction, and the slopes of each unknown. Formulas of the
// slopes: head of DriftFit. Not here: the exact prediction (DriftPrediction), the solution of one step
// (RobustLinearFit), the assessment (DriftAssessment).
using Hourhinge.Calibration.Orientation;
using Hourhinge.Frames.Matching;
using Hourhinge.Numerics;
using MathNet.Numerics.LinearAlgebra;

namespace Hourhinge.Calibration.Stars;

internal sealed class DriftModel
{
    private readonly IReadOnlyList<DriftSample> _samples;
    private readonly DriftOptions _options;
    private readonly int[] _segments;
    private readonly (double East, double North, double Turn)[] _sky;
    private readonly DriftPrediction _prediction;
    private TrailCentroid _centroid;

    // Each step leaves about a hundredth (the axis error in radians) of what it finds.
    private const int Steps = 4;

    public DriftModel(IReadOnlyList<DriftSample> samples, DriftOptions options)
    {
        (this._samples, this._options) = (samples, options);
        _segments = samples.Select(s => s.Segment).Distinct().Order().ToArray();
        MidTime = (samples.Min(s => s.TimeSeconds) + samples.Max(s => s.TimeSeconds)) / 2;
        _sky = samples.Select(s => options.Sky.ToSky(s.ShiftXPx, s.ShiftYPx, s.RotationRad)).ToArray();
        _prediction = new DriftPrediction(options.Sky, options.Place, options.ReferenceSeconds);
        _centroid = new TrailCentroid(options.ExposureSeconds, options.SpotVariancePx2,
            options.Sky.FocalLengthPx * Math.Cos(options.Place.DeclinationRad));
    }

    public double MidTime { get; }

    public int RateColumn => 3 * _segments.Length;

    /// <summary>The axis error's two columns: of the last segment, as the tripod stands now.</summary>
    public int AxisColumn => AxisOf(SegmentCount - 1);

    public int PeriodicColumn { get; private set; }

    private int _firstAxis;

    public int SegmentOf(int i) => Array.IndexOf(_segments, _samples[i].Segment);

    public int SegmentCount => _segments.Length;

    private int AxisOf(int segment) => _firstAxis + (2 * segment);

    /// <summary>Fits with a rate of the given order and, where given, a sine of the given period.</summary>
    public RobustLinearFit? Fit(int order, double? period)
    {
        // A bump that turns the camera turns the axis with it: each segment has its own.
        _firstAxis = RateColumn + order + 1;
        PeriodicColumn = _firstAxis + (2 * SegmentCount);
        Matrix<double> rows = Matrix<double>.Build.Dense(3 * _samples.Count, PeriodicColumn + (period is null ? 0 : 2));
        double[] sigmas = new double[rows.RowCount];
        int[] channels = new int[rows.RowCount];
        for (int i = 0; i < _samples.Count; i++)
        {
            Slopes(rows, sigmas, channels, i, order);
        }

        RobustLinearFit? fit = null;
        Vector<double> values = Vector<double>.Build.Dense(rows.ColumnCount);
        for (int step = 0; step < Steps; step++)
        {
            if (period is { } p)
            {
                PeriodicSlopes(rows, values, order, p);
            }

            fit = RobustLinearFit.Solve(rows, Residuals(values, order, period) + (rows * values), sigmas, channels);
            if (fit is null)
            {
                return null;
            }

            values = fit.Values;
            // The first step is linear, so its errors are sound. A sine that it does not determine would run away with
            // the window of the star finder, which matters by some percent of it: places are then means.
            if (step == 0 && period is { } found && !DriftFit.IsDetermined(Periodic(fit, this, found)))
            {
                _centroid = new TrailCentroid(_options.ExposureSeconds, double.PositiveInfinity, 1);
            }
        }
        return fit;
    }

    // The frames' motions less the exact prediction and the segments' starts.
    private Vector<double> Residuals(Vector<double> values, int order, double? period)
    {
        DriveMotion[] guesses = Enumerable.Range(0, SegmentCount).Select(k => new DriveMotion(
            t => Seen(values, order, period, t - MidTime), values[AxisOf(k)], values[AxisOf(k) + 1], MidTime))
            .ToArray();
        Vector<double> residuals = Vector<double>.Build.Dense(3 * _samples.Count);
        for (int i = 0; i < _samples.Count; i++)
        {
            FieldMotion motion = _prediction.At(_samples[i].TimeSeconds, guesses[SegmentOf(i)]);
            (double east, double north, double turn) =
                _options.Sky.ToSky(motion.ShiftXPx, motion.ShiftYPx, motion.RotationRad);
            int segment = 3 * SegmentOf(i);
            residuals[3 * i] = _sky[i].East - east - values[segment];
            residuals[(3 * i) + 1] = _sky[i].North - north - values[segment + 1];
            residuals[(3 * i) + 2] = _sky[i].Turn - turn - values[segment + 2];
        }
        return residuals;
    }

    // How far the drive is ahead of the sky, radians, at a time from mid-run.
    private double Ahead(Vector<double> values, int order, double? period, double t)
    {
        double ahead = 0, power = t;
        for (int k = 0; k <= order; k++)
        {
            ahead += ApparentDrift.RadPerSec * values[RateColumn + k] * power;
            power *= t / (k + 2);
        }
        if (period is { } p)
        {
            ahead += ((values[PeriodicColumn] * Math.Sin(2 * Math.PI * t / p))
                + (values[PeriodicColumn + 1] * Math.Cos(2 * Math.PI * t / p))) / ApparentDrift.ArcsecPerRad;
        }
        return ahead;
    }

    // The same as a frame shows it, blurred over the exposure.
    private double Seen(Vector<double> values, int order, double? period, double t) => period is null
        ? Ahead(values, order, period, t)
        : _centroid.At(s => Ahead(values, order, period, s), t);

    // How a frame answers to the two components of the sine depends on the whole path, through the finder's window.
    private void PeriodicSlopes(Matrix<double> rows, Vector<double> values, int order, double period)
    {
        const double StepArcsec = 0.02;
        double c = Math.Cos(_options.Place.DeclinationRad), s = Math.Sin(_options.Place.DeclinationRad);
        for (int column = PeriodicColumn; column <= PeriodicColumn + 1; column++)
        {
            Vector<double> more = values.Clone(), less = values.Clone();
            more[column] += StepArcsec;
            less[column] -= StepArcsec;
            for (int i = 0; i < _samples.Count; i++)
            {
                double t = _samples[i].TimeSeconds - MidTime;
                double slope = (Seen(more, order, period, t) - Seen(less, order, period, t))
                    * ApparentDrift.ArcsecPerRad / (2 * StepArcsec);
                // A frame that meets the sine where it does not show: rounding errors must not pass for a signal.
                slope = Math.Abs(slope) < 1e-6 ? 0 : slope;
                rows[3 * i, column] = c * slope;
                rows[(3 * i) + 2, column] = s * slope;
            }
        }
    }

    private void Slopes(Matrix<double> rows, double[] sigmas, int[] channels, int i, int order)
    {
        double c = Math.Cos(_options.Place.DeclinationRad), s = Math.Sin(_options.Place.DeclinationRad);
        double t = _samples[i].TimeSeconds - MidTime, angle = ApparentDrift.RadPerSec * t;
        int east = 3 * i, north = east + 1, turn = east + 2, segment = 3 * SegmentOf(i);
        for (int k = 0; k < 3; k++)
        {
            rows[east + k, segment + k] = 1;
            channels[east + k] = k;
            sigmas[east + k] = k < 2
                ? _samples[i].SigmaShiftPx * _options.Sky.ArcsecPerPx
                : _samples[i].SigmaRotationRad * ApparentDrift.ArcsecPerRad;
        }
        double power = t;
        for (int k = 0; k <= order; k++)
        {
            rows[east, RateColumn + k] = ApparentDrift.ArcsecPerSec * c * power;
            rows[turn, RateColumn + k] = ApparentDrift.ArcsecPerSec * s * power;
            power *= t / (k + 2);
        }
        double sin = Math.Sin(angle) * ApparentDrift.ArcsecPerRad, lack = (1 - Math.Cos(angle))
            * ApparentDrift.ArcsecPerRad;
        int axis = AxisOf(SegmentOf(i));
        rows[east, axis] = -s * sin;
        rows[east, axis + 1] = s * lack;
        rows[north, axis] = -lack;
        rows[north, axis + 1] = -sin;
        rows[turn, axis] = c * sin;
        rows[turn, axis + 1] = -c * lack;
    }

    // A sine that moves stars by less than a pixel meets each star's pixels at the same places again and again, so the
    // finder's error of a fraction of a pixel does not average out over the frames. Measured on rendered frames at 50,
    // 105 and 210 mm (TrailCentroidTests): 0.0025, 0.0013 and 0.0008 px with 55 stars matched, at 0.6, 1.5 and 3 px
    // amplitude.
    private Estimate WithPixelPhase(Estimate e, double amplitudeArcsec)
    {
        const double OneStarPx = 0.028;
        double stars = Math.Max(Median.Of(_samples.Select(s => (double)s.Stars)), 1);
        // Stars that drift over many pixels meet them at many places.
        double spanX = _samples.Max(s => s.ShiftXPx) - _samples.Min(s => s.ShiftXPx);
        double spanY = _samples.Max(s => s.ShiftYPx) - _samples.Min(s => s.ShiftYPx);
        double reachPx = Math.Max(amplitudeArcsec / _options.Sky.ArcsecPerPx,
            Math.Sqrt((spanX * spanX) + (spanY * spanY)) / 2);
        double extra = double.IsFinite(_options.SpotVariancePx2)
            ? OneStarPx / Math.Sqrt(stars) / (1 + reachPx) * _options.Sky.ArcsecPerPx
            : 0;
        double sigma = Math.Sqrt((e.Sigma * e.Sigma) + (extra * extra));
        return e.Sigma > 0 ? e with { Sigma = sigma, Half95 = e.Half95 * sigma / e.Sigma } : e;
    }

    public static PeriodicTerm Periodic(RobustLinearFit fit, DriftModel model, double period)
    {
        int k = model.PeriodicColumn;
        double a = fit.Values[k], b = fit.Values[k + 1], amplitude = Math.Sqrt((a * a) + (b * b));
        double ca = a / Math.Max(amplitude, 1e-12), cb = b / Math.Max(amplitude, 1e-12);
        Estimate size = model.WithPixelPhase(fit.Combine((k, ca), (k + 1, cb)), amplitude);
        Estimate across = model.WithPixelPhase(fit.Combine((k, -cb), (k + 1, ca)), amplitude);
        double phaseSigma = Math.Abs(across.Sigma / Math.Max(amplitude, 1e-12));
        double phase = Math.IEEERemainder(Math.Atan2(b, a) - (2 * Math.PI * model.MidTime / period), 2 * Math.PI);
        return new PeriodicTerm(period, size, fit.Of(phase, phaseSigma));
    }

    public (double East, double North, double Turn) Noise(RobustLinearFit fit)
    {
        double px = Median.Of(_samples.Select(s => s.SigmaShiftPx)) * _options.Sky.ArcsecPerPx;
        double turn = Median.Of(_samples.Select(s => s.SigmaRotationRad)) * ApparentDrift.ArcsecPerRad;
        return (fit.ChannelNoise[0] * px, fit.ChannelNoise[1] * px, fit.ChannelNoise[2] * turn);
    }

    /// <summary>What the fit leaves of each frame.</summary>
    public DriftResidual[] Residuals(RobustLinearFit fit, int order, double? period)
    {
        Vector<double> left = Residuals(fit.Values, order, period);
        return [.. _samples.Select((s, i) => new DriftResidual(s.Name, s.TimeSeconds, _sky[i].East, _sky[i].North,
            left[3 * i], left[(3 * i) + 1]))];
    }

    public List<string> Outliers(RobustLinearFit fit, double limit) => Enumerable.Range(0, _samples.Count)
        .Where(i => Enumerable.Range(3 * i, 3).Any(k => Math.Abs(fit.Pulls[k]) > limit)).Select(i => _samples[i].Name)
        .ToList();
}
