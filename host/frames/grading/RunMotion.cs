// How the stars of a run move over the sensor and how much of their light arrives: each frame is matched to one before,
// and the light compared star by star. A star's own brightness cancels; what changes for all is cloud, haze or dew.
using Hourhinge.Frames.Matching;
using Hourhinge.Frames.Stars;
using Hourhinge.Numerics;

namespace Hourhinge.Frames.Grading;

/// <summary>A frame against its run.</summary>
/// <param name="Transparency">Light that arrives, 1 for the run's clearer frames; null where the frame could not be
/// matched.</param>
/// <param name="DriftXPxPerSec">Motion of the stars along x, px/s; null without times or a match.</param>
/// <param name="DriftYPxPerSec">The same along y.</param>
internal readonly record struct FrameMotion(double? Transparency, double? DriftXPxPerSec, double? DriftYPxPerSec);

internal static class RunMotion
{
    private const int MinPairs = 10;
    private const double MinSnr = 8;

    // With fewer of the reference's stars left in view, the next reference is taken.
    private const double MinCommon = 0.5;

    /// <summary>Compares the frames, given their stars in the order of the run.</summary>
    public static FrameMotion[] Of(IReadOnlyList<FrameMeasures> frames, IReadOnlyList<List<Star>> seen, int width,
        int height, KnownSky? sky)
    {
        // Far from the centre a wide lens draws the same motion otherwise: stars are matched as it would be without
        // distortion.
        IReadOnlyList<List<Star>> stars = sky is null ? seen : [.. seen.Select(list => list.Select(s =>
            sky.Undistorted(s.X, s.Y) is { } p ? s with { X = p.X, Y = p.Y } : (Star?)null).OfType<Star>().ToList())];
        var fields = stars.Select(s => Field(s, width, height)).ToList();
        double?[] light = new double?[frames.Count];
        var drift = new (double X, double Y)?[frames.Count];
        int reference = -1, last = -1;
        FieldMotion? motion = null;
        for (int i = 0; i < frames.Count; i++)
        {
            if (stars[i].Count < MinPairs)
            {
                continue;
            }

            if (reference < 0)
            {
                (reference, last, light[i]) = (i, i, 0);
                continue;
            }

            (IReadOnlyList<StarPair> Pairs, FieldMotion Motion)? match =
                StarMatcher.Match(fields[reference], fields[i], null, motion);
            if (match is null && last != reference)
            {
                (reference, motion) = (last, null);
                match = StarMatcher.Match(fields[reference], fields[i]);
            }

            if (match is not { } m || m.Pairs.Count < MinPairs)
            {
                continue;
            }

            light[i] = light[reference] + LightRatio(m.Pairs, frames[reference], frames[i]);
            drift[i] = Drift(motion, m.Motion, frames[last], frames[i]);
            (last, motion) = (i, m.Motion);
            if (m.Pairs.Count < MinCommon * Math.Min(stars[reference].Count, stars[i].Count))
            {
                (reference, motion) = (i, null);
            }
        }

        // The clearer frames set the scale; the clearest of many is the luckiest.
        var known = light.OfType<double>().Order().ToList();
        double clear = known.Count == 0 ? 0 : known[Math.Min((int)(0.8 * known.Count), known.Count - 1)];
        return [
            .. light.Select((l, i) => new FrameMotion(known.Count < 2 || l is null ? null : Math.Exp(l.Value - clear),
            drift[i]?.X, drift[i]?.Y))];
    }

    /// <summary>A field of these stars only, brightest first.</summary>
    public static StarField Field(List<Star> stars, int width, int height) => new(width, height,
        [.. stars.OrderByDescending(s => s.Flux)], stars.Count, [], 0, 0, 0, false);

    private static double LightRatio(IReadOnlyList<StarPair> pairs, FrameMeasures a, FrameMeasures b)
    {
        var bright = pairs.Where(p => p.Reference.Snr > MinSnr).ToList();
        double seen = Median.Of((bright.Count >= MinPairs ? bright : pairs)
            .Select(p => Math.Log(Math.Max(p.Seen.Flux, 1e-9) / Math.Max(p.Reference.Flux, 1e-9))));
        return a.ExposureSeconds is { } before and > 0 && b.ExposureSeconds is { } now and > 0
            ? seen - Math.Log(now / before)
            : seen;
    }

    private static (double X, double Y)? Drift(FieldMotion? before, FieldMotion now, FrameMeasures last,
        FrameMeasures frame)
    {
        if ((frame.StartUtc - last.StartUtc)?.TotalSeconds is not ({ } seconds and > 0))
        {
            return null;
        }

        return ((now.ShiftXPx - (before?.ShiftXPx ?? 0)) / seconds, (now.ShiftYPx - (before?.ShiftYPx ?? 0)) / seconds);
    }
}
