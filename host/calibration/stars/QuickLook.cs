// A quick calibration from two frames: rate error and axis error.
// Three unknowns (rate, two axis components) from three measurements (drift east, drift north, turn), solved exactly
// with the formulas in the head of DriftFit; the uncertainty is carried along.
using Hourhinge.Calibration.Orientation;
using Hourhinge.Frames.Matching;
using Hourhinge.Numerics;

namespace Hourhinge.Calibration.Stars;

/// <summary>The quick answer.</summary>
/// <param name="RatePercent">Rate error with the axis' share taken out; positive is fast.</param>
/// <param name="EffectiveRatePercent">Rate error as the stars show it, axis left as it is.</param>
/// <param name="AxisTowardFieldDegrees">Axis error from the pole towards the field's hour angle.</param>
/// <param name="AxisEastOfFieldDegrees">Axis error a quarter turn east of that.</param>
/// <param name="Sentence">The rate in words; the adjustment of the axis depends on the site's latitude
/// (AxisError).</param>
/// <param name="Assessment">Whether to act on it.</param>
public sealed record QuickAnswer(
    Estimate RatePercent, Estimate EffectiveRatePercent, Estimate AxisTowardFieldDegrees,
        Estimate AxisEastOfFieldDegrees,
    string Sentence, CalibrationAssessment Assessment);

/// <summary>Two-frame calibration.</summary>
public static class QuickLook
{
    // Refraction is not taken out here: on a field at 40 degrees of altitude it passes for an axis error of about an
    // arcminute and a rate error of some 200 ppm. The formulas are of first order, which costs less.
    private const double RateFloor = 2e-4, AxisFloorRad = 3e-4;

    /// <summary>Answers from the motion between two frames with the drive on.</summary>
    /// <param name="motion">From the earlier to the later frame.</param>
    /// <param name="seconds">Time between their middles, 20 s or more.</param>
    /// <param name="stampSigmaSeconds">Standard error of that time: 0.41 s for two whole-second stamps.</param>
    /// <param name="stopped">Direction and scale of the sky on the sensor; its doubts are doubts of the answer.</param>
    /// <param name="declinationRad">Declination of the frame's centre.</param>
    /// <param name="declinationSigmaRad">Its standard error.</param>
    /// <param name="periodicArcsec">Size of the thread's periodic error where known; it cannot be told apart
    /// here.</param>
    public static QuickAnswer Solve(FieldMotion motion, double seconds, double stampSigmaSeconds, StoppedResult stopped,
        double declinationRad, double declinationSigmaRad = 0, double periodicArcsec = 0)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(seconds, 20);
        SkyOnSensor sky = stopped.Sky;
        double scale = stopped.FocalLengthPx.Sigma / stopped.FocalLengthPx.Value;
        double direction = stopped.WestAngleRad.Sigma;
        double c = Math.Cos(declinationRad), s = Math.Sin(declinationRad), full = ApparentDrift.ArcsecPerSec * seconds;
        (double east, double north, double turn) = sky.ToSky(motion.ShiftXPx, motion.ShiftYPx, motion.RotationRad);
        double pixel = motion.SigmaShiftPx * sky.ArcsecPerPx, turned = motion.SigmaRotationRad
            * ApparentDrift.ArcsecPerRad;
        double time = stampSigmaSeconds / seconds;
        // r = (c·east + s·turn)/full, e1 = (c·turn - s·east)/full: the two equations are a rotation by δ.
        double r = ((c * east) + (s * turn)) / full, e1 = ((c * turn) - (s * east)) / full, e2 = -north / full;
        double periodic = periodicArcsec * c;
        double along = Math.Sqrt((pixel * pixel) + (periodic * periodic));
        // An error of the scale, of the direction or of the declination mixes what was measured.
        double sr = Hypot(Hypot(c * along / full, s * turned / full, r * time), RateFloor,
            Hypot(c * east / full * scale, c * north / full * direction, e1 * declinationSigmaRad));
        double s1 = Hypot(Hypot(c * turned / full, s * along / full, e1 * time), AxisFloorRad,
            Hypot(s * east / full * scale, s * north / full * direction, r * declinationSigmaRad));
        double s2 = Hypot(Hypot(pixel / full, AxisFloorRad, e2 * time), e2 * scale, east / full * direction);
        double effective = east / (full * c);
        Estimate Make(double v, double sigma, double unit) => new(v * unit, sigma * unit, sigma * unit * 1.96);
        const double Degrees = 180 / Math.PI;
        Estimate rate = Make(r, sr, 100);
        Estimate a1 = Make(e1, s1, Degrees);
        Estimate a2 = Make(e2, s2, Degrees);
        var reasons = new List<string>(stopped.Assessment.Reasons);
        if (motion.Pairs < 8)
        {
            reasons.Add($"only {motion.Pairs} stars matched.");
        }

        if (seconds < 60)
        {
            reasons.Add(
                $"the frames are only {seconds:0} s apart: a minute or more tells more.");
        }

        if (Math.Abs(r) > DriftAssessment.MaxRateError)
        {
            reasons.Add(DriftAssessment.FarOff(r));
        }

        if (rate.Half95 > 0.5)
        {
            reasons.Add($"the rate is known only to ± {rate.Half95:0.0} %.");
        }

        string speed = Math.Abs(rate.Value) < rate.Half95
            ? $"at the sky's rate within {Math.Abs(rate.Value) + rate.Half95:0.00} %."
            : $"{Math.Abs(rate.Value):0.00} % {(rate.Value < 0 ? "slow" : "fast")} (± {rate.Half95:0.00}).";
        return new QuickAnswer(rate,
            Make(effective, Hypot(Hypot(along / (full * c), effective * time, RateFloor), effective * scale,
                north / (full * c) * direction), 100),
            a1, a2,
            $"The drive is {speed}", new CalibrationAssessment(reasons));
    }

    private static double Hypot(double a, double b, double c) => Math.Sqrt((a * a) + (b * b) + (c * c));
}
