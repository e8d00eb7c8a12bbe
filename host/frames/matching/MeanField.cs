// The frames of a run against the mean of all of them. Against one frame alone, that frame's own centroid errors stay
// in every motion, and change as stars leave the picture, which looks like a slow drift. So each reference star is put
// where all frames together see it, and every frame, the reference included, is fitted again.
using Hourhinge.Frames.Stars;

namespace Hourhinge.Frames.Matching;

/// <summary>A frame laid over the reference frame, with the stars it was laid by.</summary>
internal sealed record MatchedFrame(RunFrame Frame, FieldMotion Motion, IReadOnlyList<StarPair> Pairs);

internal static class MeanField
{
    private const int Rounds = 2;
    private const int MinFrames = 5;

    /// <summary>Fits the frames again. Given: frames of one lens, matched to one reference; focal length, px.</summary>
    public static List<MatchedFrame> Of(List<MatchedFrame> frames, double? focal)
    {
        if (frames.Count < MinFrames)
        {
            return frames;
        }

        for (int round = 0; round < Rounds; round++)
        {
            var moves = new Dictionary<Star, (double X, double Y, int Count)>();
            var fitted = frames.Select(f => Fit(f, focal)).ToList();
            for (int i = 0; i < frames.Count; i++)
            {
                if (fitted[i] is not { } fit)
                {
                    continue;
                }
                // Back into the reference frame: turned by the field's turn, over its scale.
                double c = Math.Cos(fit.Motion.RotationRad) / fit.Motion.Scale, s = Math.Sin(fit.Motion.RotationRad)
                    / fit.Motion.Scale;
                for (int k = 0; k < fit.Residuals.Length; k++)
                {
                    (double x, double y) = fit.Residuals[k];
                    if (double.IsNaN(x))
                    {
                        continue;
                    }

                    moves.TryGetValue(frames[i].Pairs[k].Reference, out (double X, double Y, int Count) sum);
                    moves[frames[i].Pairs[k].Reference] =
                        (sum.X + (c * x) + (s * y), sum.Y + (c * y) - (s * x), sum.Count + 1);
                }
            }
            Star Moved(Star star) => moves.TryGetValue(star, out (double X, double Y, int Count) m)
                ? star with { X = star.X + (m.X / m.Count), Y = star.Y + (m.Y / m.Count) } : star;
            frames = frames.Select((f, i) => f with
            {
                Motion = fitted[i]?.Motion ?? f.Motion,
                Pairs = f.Pairs.Select(p => p with { Reference = Moved(p.Reference) }).ToList(),
            }).ToList();
        }
        return frames.Select(f => Fit(f, focal) is { } fit ? f with { Motion = fit.Motion } : f).ToList();
    }

    private static (FieldMotion Motion, (double X, double Y)[] Residuals)? Fit(MatchedFrame f, double? focal) =>
        FieldMotion.FitWithResiduals(f.Pairs, f.Frame.Field.Width, f.Frame.Field.Height, focal, f.Motion);
}
