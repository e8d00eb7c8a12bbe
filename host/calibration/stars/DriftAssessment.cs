// Reasons not to trust a drift fit, each with what to do about it.
using Hourhinge.Numerics;

namespace Hourhinge.Calibration.Stars;

internal static class DriftAssessment
{
    private const int MinFrames = 8;
    private const int MinStars = 8;
    private const double MinSpanSeconds = 240;

    // A drift of a tenth of a pixel is not visible in a picture.
    private const double NegligibleResidualPx = 0.1;

    /// <summary>Largest rate error that a drive under calibration has; beyond it, something else is wrong.</summary>
    public const double MaxRateError = 0.2;

    /// <summary>The reason for a rate that no drive on its way has.</summary>
    public static string FarOff(double rateError) => rateError < -1 + 0.05 && rateError > -1 - 0.05
        ? "the field stands still against the ground: the drive is stopped (-100 %)."
        : $"the rate is {100 * rateError:+0;-0} % off the sky's: the drive stands still or slips, or the pointing "
            + "or the "
            + "frames with the drive stopped are wrong.";

    /// <summary>A reason for stars so narrow that a pixel's place pulls them: a drift of less than a pixel is then
    /// found too small. Measured on a rendered run: 1.0 px wide, results within their intervals; the same frames at
    /// half size, 0.8 px wide, an axis off by 2.5 intervals.</summary>
    /// <param name="spotVariancePx2">Variance across a typical star, px²; infinity where unknown.</param>
    public static string? TooCoarse(double spotVariancePx2)
    {
        const double NarrowestFwhmPx = 0.9, FwhmOfSigma = 2.3548;
        double fwhm = FwhmOfSigma * Math.Sqrt(spotVariancePx2);
        return fwhm >= NarrowestFwhmPx
            ? null
            : $"the stars are only {fwhm:0.0} pixels wide, so that their places are pulled to pixels: use the "
                + "frames at "
                + "their full size.";
    }

    public static CalibrationAssessment Of(IReadOnlyList<DriftSample> samples, DriftOptions options, DriftModel model,
        RobustLinearFit fit,
        DriftResult result, bool degenerate, double? period)
    {
        var reasons = new List<string>();
        void Say(string text) => reasons.Add(text);
        double span = samples.Max(s => s.TimeSeconds) - samples.Min(s => s.TimeSeconds);
        double gap = Gap(samples);
        int stars = (int)Median.Of(samples.Select(s => (double)s.Stars));
        if (samples.Count < MinFrames)
        {
            Say($"only {samples.Count} frames: take at least {MinFrames}.");
        }

        if (stars < MinStars)
        {
            Say($"only {stars} stars in a typical frame: at least {MinStars} are needed; expose longer or aim at "
                + "a richer field.");
        }

        if (span < MinSpanSeconds)
        {
            Say($"the run lasts {span:0} s: at least {MinSpanSeconds:0} s are needed.");
        }

        if (Math.Abs(options.Place.DeclinationRad) > 80 * Math.PI / 180)
        {
            Say($"the field is {90 - Math.Abs(options.Place.DeclinationRad * 180 / Math.PI):0} degrees from the "
                + "pole, where the rate hardly shows: aim within 80 degrees of the celestial equator.");
        }

        if (degenerate)
        {
            Say($"the frames, {gap:0.0} s apart, always meet the period of {options.PeriodSeconds:0.0} s at the "
                + "same places: change the gap by a fifth of the period.");
        }

        if (period is { } p)
        {
            if (span < 2 * p)
            {
                Say($"the run of {span:0} s holds less than two periods of {p:0} s.");
            }

            if (options.ExposureSeconds > 0.8 * p)
            {
                Say($"an exposure of {options.ExposureSeconds:0.#} s averages the period of {p:0.#} s away: expose "
                    + "for less than half of it.");
            }

            if (result.Periodic is { } term && !DriftFit.IsDetermined(term))
            {
                Say($"the periodic term is not determined ({term.AmplitudeArcsec.Value:0.0} ± "
                    + $"{term.AmplitudeArcsec.Half95:0.0} arcsec): frames {gap:0.0} s apart may meet the period at "
                    + "few places; change the gap.");
            }
        }
        if (result.Outliers.Count > 0.3 * samples.Count)
        {
            Say($"{result.Outliers.Count} of {samples.Count} frames do not fit: the mount moved in a way that is "
                + "neither rate, axis nor period.");
        }

        double echo = Autocorrelation(model, fit, samples.Count, out double expected);
        bool matters = result.NoiseArcsec.East > NegligibleResidualPx * options.Sky.ArcsecPerPx;
        if (samples.Count >= 12 && echo > expected && matters)
        {
            Say($"what is left after the fit still runs in one direction for frames on end (correlation "
                + $"{echo:0.00}): something not in the model, such as an unlisted period, moves the camera.");
        }

        if (Math.Abs(result.RatePercent.Value) > 100 * MaxRateError)
        {
            Say(FarOff(result.RatePercent.Value / 100));
        }

        if (result.EffectiveRatePercent.Half95 > 0.2)
        {
            Say($"the rate error is known only to ± {result.EffectiveRatePercent.Half95:0.00} %: take more frames "
                + "over a longer time.");
        }

        return new CalibrationAssessment(reasons);
    }

    private static double Gap(IReadOnlyList<DriftSample> samples)
    {
        var times = samples.Select(s => s.TimeSeconds).Order().ToList();
        return Median.Of(times.Skip(1).Zip(times, (b, a) => b - a));
    }

    // Lag-one correlation of the east residuals; the fit itself makes it slightly negative, so the bound is one-sided.
    private static double Autocorrelation(DriftModel model, RobustLinearFit fit, int count, out double expected)
    {
        double product = 0, square = 0;
        for (int i = 0; i < count; i++)
        {
            double a = Math.Clamp(fit.Pulls[3 * i], -4, 4);
            square += a * a;
            if (i > 0 && model.SegmentOf(i) == model.SegmentOf(i - 1))
            {
                product += a * Math.Clamp(fit.Pulls[3 * (i - 1)], -4, 4);
            }
        }
        expected = Math.Max(3 / Math.Sqrt(count), 0.4);
        return square > 0 ? product / square : 0;
    }
}
