// Several frames with the drive stopped make one result. The motion between two of them gives the direction and a scale
// that needs no exposure; each frame's trails give a more exact scale, as exact as the exposure is known. Where the two
// disagree, the exposure is not what the files say, or the streaks are no star trails.
using Hourhinge.Frames.Matching;
using Hourhinge.Numerics;

namespace Hourhinge.Calibration.Orientation;

/// <summary>What is known of stopped frames beside their stars.</summary>
/// <param name="PointingSigmaRad">Standard error of the declination.</param>
/// <param name="Lenses">What the lens may be; null where unknown.</param>
/// <param name="ExposureIsTold">True where the user gave the exposure.</param>
public sealed record StoppedHints(double PointingSigmaRad = 0, LensHint? Lenses = null, bool ExposureIsTold = false);

/// <summary>The sky on the sensor from a handful of stopped frames.</summary>
public static class StoppedRun
{
    // Streaks that differ by more from what the motion demands are no star trails.
    private const double MaxExposureOff = 0.2;

    private const string IsMirrored =
        "the stars go the way they would in a mirror image (rows stored from the bottom, or an odd number of "
        + "mirrors): give --mirrored, or check the declination's sign.";
    private const string NotMirrored =
        "the stars do not go the way they would in a mirror image: leave --mirrored out, or check the declination's "
        + "sign.";

    /// <summary>Joins the frames.</summary>
    /// <param name="frames">Frames with the drive stopped.</param>
    /// <param name="declinationRad">Declination of the frame's centre.</param>
    /// <param name="mirrored">True for mirror images.</param>
    /// <param name="hints">What else is known.</param>
    /// <returns>The joint result, or null when no frame will do.</returns>
    public static StoppedResult? Of(IReadOnlyList<RunFrame> frames, double declinationRad, bool mirrored = false,
        StoppedHints? hints = null)
    {
        hints ??= new StoppedHints();
        StoppedResult? motion = StoppedMotion.Of(frames, declinationRad, mirrored, hints);
        StoppedResult? trails = Trails(frames, declinationRad, mirrored, hints, motion?.Sky);
        StoppedResult? joint = (motion, trails) switch
        {
            (null, null) => null,
            (null, { } t) => WithExposureDoubt(t, Exposure(frames), hints),
            ({ } m, null) => m,
            ({ } m, { } t) => Joint(m, t, Exposure(frames), hints, "the motion between the frames", exposure => Trails(
                [.. frames.Select(f => f with { Info = f.Info with { ExposureSeconds = exposure } })],
                declinationRad, mirrored, hints, m.Sky)),
        };
        return joint is not null && hints.Lenses?.Doubt(joint.FocalLengthPx.Value) is { } doubt
            ? joint.WithReason(doubt)
            : joint;
    }

    /// <summary>The true exposure of stopped frames from their trails, where the catalogue gave the scale.</summary>
    /// <param name="frames">Frames with the drive stopped, without distortion.</param>
    /// <param name="declinationRad">Declination of their middle.</param>
    /// <param name="known">Direction and scale.</param>
    /// <returns>As <see cref="Of"/>; null where no trails are in the frames.</returns>
    public static StoppedResult? Exposure(IReadOnlyList<RunFrame> frames, double declinationRad, StoppedResult known,
        StoppedHints hints)
    {
        bool mirrored = known.Sky.Mirrored;
        return Trails(frames, declinationRad, mirrored, hints, known.Sky) is { } trails
            ? Joint(known, trails, Exposure(frames), hints, "the catalogue", exposure => Trails(
                [.. frames.Select(f => f with { Info = f.Info with { ExposureSeconds = exposure } })],
                declinationRad, mirrored, hints, known.Sky))
            : null;
    }

    private static double? Exposure(IReadOnlyList<RunFrame> frames) =>
        frames.Select(f => f.Info.ExposureSeconds).FirstOrDefault(e => e is not null);

    // The frames' trails, weighted by what each knows of the scale.
    private static StoppedResult? Trails(IReadOnlyList<RunFrame> frames, double declinationRad, bool mirrored,
        StoppedHints hints, SkyOnSensor? known)
    {
        StoppedResult[] each = frames
            .Select(f => f.Info.ExposureSeconds is { } t
                ? StoppedSky.FromTrails(f.Field, t, declinationRad, mirrored, hints.PointingSigmaRad, known)
                : null).OfType<StoppedResult>().ToArray();
        StoppedResult[] good = each.Where(s => s.Assessment.IsTrusted).ToArray();
        StoppedResult[] used = good.Length > 0 ? good : each;
        if (used.Length == 0)
        {
            return null;
        }

        double[] weights = used.Select(s => 1 / Math.Pow(Math.Max(s.FocalLengthPx.Sigma, 1e-6), 2)).ToArray();
        double sum = weights.Sum(), first = used[0].Sky.WestAngleRad;
        double focal = used.Zip(weights, (s, w) => s.FocalLengthPx.Value * w).Sum() / sum;
        // Frames of the same stars err alike (lens, blends): their scatter widens what each of them says.
        double scatter = used.Zip(weights, (s, w) => Math.Pow(s.FocalLengthPx.Value - focal, 2) * w).Sum()
            / Math.Max(used.Length - 1, 1);
        double sigma = Math.Sqrt(Math.Max(scatter, 1) / sum);
        double[] directions = used.Select(s => 1 / Math.Pow(Math.Max(s.WestAngleRad.Sigma, 1e-9), 2)).ToArray();
        double west = first
            + (used.Zip(directions, (s, w) => Math.IEEERemainder(s.Sky.WestAngleRad - first, 2 * Math.PI) * w).Sum()
                / directions.Sum());
        double westSigma = Math.Sqrt(1 / directions.Sum());
        double factor = used.Max(s => s.FocalLengthPx.Half95 / s.FocalLengthPx.Sigma);
        return used[0] with
        {
            Sky = used[0].Sky with { FocalLengthPx = focal, WestAngleRad = west },
            FocalLengthPx = new Estimate(focal, sigma, sigma * factor),
            WestAngleRad = new Estimate(west, westSigma, westSigma * 1.96),
            Trails = used.Sum(s => s.Trails),
            Outliers = used.Sum(s => s.Outliers),
            ShapeContradicts = used.Any(s => s.ShapeContradicts),
        };
    }

    // The trails fitted with an exposure, and how far their scale is from the motion's, in standard errors.
    private sealed record Reading(double ExposureSec, StoppedResult Trails, Estimate Ratio)
    {
        // Air shortens trails by up to 0.07 % at 40 degrees of altitude, and their ends are fitted to a model.
        private const double TrailFloor = 1e-3;

        public double Pull => Math.Abs(Ratio.Value - 1) / Ratio.Sigma;

        public static Reading Of(double exposureSec, StoppedResult trails, StoppedResult motion)
        {
            Estimate m = motion.FocalLengthPx, t = trails.FocalLengthPx;
            double value = t.Value / m.Value;
            double sigma = value * Math.Sqrt(Math.Pow(t.Sigma / t.Value, 2) + Math.Pow(m.Sigma / m.Value, 2)
                + (TrailFloor * TrailFloor));
            return new Reading(exposureSec, trails, new Estimate(value, sigma, 1.96 * sigma));
        }
    }

    private static StoppedResult Joint(StoppedResult motion, StoppedResult trails, double? markedSec,
        StoppedHints hints, string scaleFrom, Func<double, StoppedResult?> trailsWithExposure)
    {
        if (markedSec is not { } marked || !trails.Assessment.IsTrusted)
        {
            return motion;
        }

        List<Reading> readings = [Reading.Of(marked, trails, motion)];
        if (ShutterTime.Stepped(marked) is { } stepped && trailsWithExposure(stepped) is { } other)
        {
            readings.Add(Reading.Of(stepped, other, motion));
        }

        if (Math.Abs(readings[0].Ratio.Value - 1) > MaxExposureOff + (3 * readings[0].Ratio.Sigma))
        {
            return motion;
        }

        readings = [.. readings.OrderBy(r => r.Pull)];
        Reading best = readings[0];
        bool clear = readings.Count == 1 || Math.Pow(readings[1].Pull, 2) - Math.Pow(best.Pull, 2) > 9;
        bool exact = clear && best.Pull < 3.5;
        Estimate exposure = exact ? new Estimate(best.ExposureSec, 0, 0) : best.Ratio.Times(best.ExposureSec);
        // An exposure that is known makes the trails the better ruler.
        Estimate focal = exact ? best.Trails.FocalLengthPx : motion.FocalLengthPx;
        StoppedResult result = motion with
        {
            Sky = motion.Sky with
            {
                FocalLengthPx = focal.Value,
                WestAngleRad = best.Trails.Sky.WestAngleRad,
            },
            FocalLengthPx = focal,
            WestAngleRad = best.Trails.WestAngleRad,
            Trails = best.Trails.Trails,
            Outliers = best.Trails.Outliers,
            TrueExposureSec = exposure,
        };
        if (best.Trails.ShapeContradicts)
        {
            result = result.WithReason(motion.Sky.Mirrored ? NotMirrored : IsMirrored);
        }

        if (exact && exposure.Value == marked)
        {
            return result;
        }

        if (hints.ExposureIsTold)
        {
            return result.WithReason(
                $"the trails are as long as in {exposure.Value:0.0} s, not in the {marked:0.##} s that "
                + "--stopped-exposure gives.");
        }

        return result with
        {
            Remarks =
            [
                exact
                    ? $"The shutter was open for {exposure.Value:0.##} s, not for the {marked:0.##} s that the files "
                        + "name: the trails are that long."
                    : $"The trails are as long as in {exposure.Value:0.0} ± {1.96 * exposure.Sigma:0.0} s; the files "
                        + $"name {marked:0.##} s. The scale is taken from {scaleFrom}.",
            ],
        };
    }

    // One frame alone cannot tell a longer exposure from a longer lens. A small difference goes into the error.
    private static StoppedResult WithExposureDoubt(StoppedResult trails, double? markedSec, StoppedHints hints)
    {
        if (hints.ExposureIsTold || markedSec is not { } marked || ShutterTime.Stepped(marked) is not { } stepped)
        {
            return trails;
        }

        const double Small = 0.015;
        double off = Math.Abs((stepped / marked) - 1);
        Estimate focal = trails.FocalLengthPx;
        double sigma = Math.Sqrt(Math.Pow(focal.Sigma, 2) + Math.Pow(off * focal.Value / 2, 2));
        return off < Small
            ? trails with { FocalLengthPx = focal with { Sigma = sigma, Half95 = 1.96 * sigma } }
            : trails.WithReason(
                $"the frames with the drive stopped name an exposure of {marked:0.##} s, which many cameras hold for "
                + $"{stepped:0.##} s: take a second one half a minute later, or give --stopped-exposure.");
    }
}
