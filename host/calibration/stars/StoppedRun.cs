// Several frames with the drive stopped make one result: each frame's trails give direction and scale (StoppedSky), and
// where a field's trails alone do not tell west from east, the way from one frame to the next does.
using Hourhinge.Frames.Matching;
using Hourhinge.Frames.Stars;
using Hourhinge.Numerics;

namespace Hourhinge.Calibration.Stars;

/// <summary>The sky on the sensor from a handful of stopped frames.</summary>
public static class StoppedRun
{
    private const double ReachPx = 8;
    private const string IsMirrored =
        "the stars go the way they would in a mirror image (rows stored from the bottom, or an odd number of "
        + "mirrors): give --mirrored, or check the declination's sign.";
    private const string NotMirrored =
        "the stars do not go the way they would in a mirror image: leave --mirrored out, or check the declination's "
        + "sign.";

    /// <summary>Joins the frames, weighted by what each knows of the scale.</summary>
    /// <param name="frames">Frames with the drive stopped; those without exposure or with fewer than 3 trails do not
    /// count.</param>
    /// <param name="declinationRad">Declination of the frame's centre.</param>
    /// <param name="mirrored">True for mirror images.</param>
    /// <returns>The joint result, or null when no frame will do.</returns>
    public static StoppedResult? Of(IReadOnlyList<RunFrame> frames, double declinationRad, bool mirrored = false)
    {
        StoppedResult[] each = frames
            .Select(f => f.Info.ExposureSeconds is { } t
                ? StoppedSky.FromTrails(f.Field, t, declinationRad, mirrored)
                : null).OfType<StoppedResult>()
            .Select(r => WithDirectionFromFrames(r, frames, declinationRad)).ToArray();
        StoppedResult[] good = each.Where(s => s.Assessment.IsTrusted).ToArray();
        StoppedResult[] used = good.Length > 0 ? good : each;
        if (used.Length == 0)
        {
            return null;
        }

        double[] weights = used.Select(s => 1 / Math.Pow(Math.Max(s.FocalLengthPx.Sigma, 1e-6), 2)).ToArray();
        double sum = weights.Sum(), sigma = Math.Sqrt(1 / sum), first = used[0].Sky.WestAngleRad;
        double focal = used.Zip(weights, (s, w) => s.FocalLengthPx.Value * w).Sum() / sum;
        double[] directions = used.Select(s => 1 / Math.Pow(Math.Max(s.WestAngleRad.Sigma, 1e-9), 2)).ToArray();
        double west = first
            + (used.Zip(directions, (s, w) => Math.IEEERemainder(s.Sky.WestAngleRad - first, 2 * Math.PI) * w).Sum()
                / directions.Sum());
        double westSigma = Math.Sqrt(1 / directions.Sum());
        return used[0] with
        {
            Sky = used[0].Sky with { FocalLengthPx = focal, WestAngleRad = west },
            FocalLengthPx = new Estimate(focal, sigma, sigma * 1.96),
            WestAngleRad = new Estimate(west, westSigma, westSigma * 1.96),
            Trails = used.Sum(s => s.Trails),
            Outliers = used.Sum(s => s.Outliers),
        };
    }

    // Counts the trails that are found again farther west in a later frame, and those found again the other way.
    private static StoppedResult WithDirectionFromFrames(StoppedResult result, IReadOnlyList<RunFrame> frames,
        double declinationRad)
    {
        SkyOnSensor other =
            result.Sky with { WestAngleRad = Math.IEEERemainder(result.Sky.WestAngleRad + Math.PI, 2 * Math.PI) };
        RunFrame[] timed = frames.Where(f => f.Info.MidUtc is not null).OrderBy(f => f.Info.MidUtc).ToArray();
        int along = 0, against = 0;
        foreach ((RunFrame earlier, RunFrame later) in timed.Zip(timed.Skip(1)))
        {
            double seconds = (later.Info.MidUtc!.Value - earlier.Info.MidUtc!.Value).TotalSeconds;
            along += FoundAgain(result.Sky, earlier.Field, later.Field, seconds, declinationRad);
            against += FoundAgain(other, earlier.Field, later.Field, seconds, declinationRad);
        }
        // Three more than by chance, and twice as many; otherwise the direction is taken from the shape of the trails.
        if (along > (2 * against) + 3)
        {
            return StoppedSky.WithDirection(result, result.Sky);
        }

        if (against <= (2 * along) + 3)
        {
            return result;
        }
        // The shape shows on which side the pole is; stars that then go the wrong way round it are seen in a mirror.
        return result.DirectionKnown
            ? result with
            {
                Assessment =
                new CalibrationAssessment(
                    result.Assessment.Reasons.Append(result.Sky.Mirrored ? NotMirrored : IsMirrored).ToList())
            }
            : StoppedSky.WithDirection(result, other);
    }

    private static int FoundAgain(SkyOnSensor sky, StarField earlier, StarField later, double seconds,
        double declinationRad) =>
        earlier.Streaks.Count(s =>
        {
            (double x, double y) =
                StoppedSky.Later(sky, earlier, (s.X1 + s.X2) / 2, (s.Y1 + s.Y2) / 2, seconds, declinationRad);
            return later.Streaks.Any(t => Math.Abs(((t.X1 + t.X2) / 2) - x) < ReachPx
                && Math.Abs(((t.Y1 + t.Y2) / 2) - y) < ReachPx);
        });
}
