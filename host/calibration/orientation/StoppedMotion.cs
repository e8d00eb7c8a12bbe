// The motion of the sky between two frames with the drive stopped: scale and direction from times alone, without the
// exposure. What stands still in both frames is landscape, and left out. Not here: trails (StoppedSky), joining both
// (StoppedRun).
using Hourhinge.Frames.Matching;
using Hourhinge.Frames.Stars;

namespace Hourhinge.Calibration.Orientation;

internal static class StoppedMotion
{
    // Whole-second stamps at both ends, uniform within ±0.5 s: √2/√12 s.
    private const double StampSigmaSec = 0.41, FineSigmaSec = 0.01;
    private const double MinSeconds = 5;
    private const double StandingPx = 2;
    private const double MinShiftPx = 6;
    private const int Rounds = 3;

    /// <summary>From the pair of frames that knows the scale best; null where no two frames match.</summary>
    public static StoppedResult? Of(IReadOnlyList<RunFrame> frames, double declinationRad, bool mirrored,
        StoppedHints hints)
    {
        RunFrame[] timed = [.. frames.Where(f => f.Info.MidUtc is not null).OrderBy(f => f.Info.MidUtc)];
        StoppedResult? best = null;
        for (int i = 1; i < timed.Length; i++)
        {
            StoppedResult? found = Between(timed[0], timed[i], declinationRad, mirrored, hints);
            if (found is not null && (best is null || Relative(found) < Relative(best)))
            {
                best = found;
            }
        }

        return best;
    }

    private static double Relative(StoppedResult r) => r.FocalLengthPx.Sigma / r.FocalLengthPx.Value;

    private static StoppedResult? Between(RunFrame earlier, RunFrame later, double declinationRad, bool mirrored,
        StoppedHints hints)
    {
        double seconds = (later.Info.MidUtc!.Value - earlier.Info.MidUtc!.Value).TotalSeconds;
        if (seconds < MinSeconds || earlier.Field.Width != later.Field.Width)
        {
            return null;
        }

        double stamp = later.Info.StampResolutionSeconds >= 1 ? StampSigmaSec : FineSigmaSec;
        (StarField a, StarField b) = (WithMiddles(earlier.Field), WithMiddles(later.Field));
        (a, b) = (WithoutStanding(a, b), WithoutStanding(b, a));
        StoppedResult? result = null;
        double? focal = hints.Lenses?.OnlyOne;
        FieldMotion? start = null;
        for (int round = 0; round < Rounds; round++)
        {
            if (StarMatcher.Match(a, b, focal, start) is not { } match)
            {
                return result;
            }

            double shift = Math.Sqrt(Math.Pow(match.Motion.ShiftXPx, 2) + Math.Pow(match.Motion.ShiftYPx, 2));
            if (shift < MinShiftPx)
            {
                return null;
            }

            result = StoppedSky.FromMotion(match.Motion, seconds, stamp, declinationRad, mirrored,
                hints.PointingSigmaRad);
            (focal, start) = (result.FocalLengthPx.Value, match.Motion);
        }

        return result;
    }

    // A trail counts as a star at its middle.
    internal static StarField WithMiddles(StarField field) => field with
    {
        Stars = [.. field.Stars.Concat(field.Streaks.Where(s => !s.CutByEdge).Select(MidTime))
            .OrderByDescending(s => s.Flux)],
    };

    private static Star MidTime(Streak s)
    {
        double variance = Math.Max(s.SigmaPx * s.SigmaPx, 0.1);
        // The middle of two ends, each with its own error.
        double snr = 2 * Math.Sqrt(variance) / Math.Max(s.EndSigmaPx, 1e-3);
        return new Star((s.X1 + s.X2) / 2, (s.Y1 + s.Y2) / 2, s.Flux, s.Flux, snr, variance, variance, 0,
            StarCautions.None);
    }

    internal static StarField WithoutStanding(StarField field, StarField other)
    {
        var cells = other.Stars.Select(Cell).ToHashSet();
        bool Stands(Star s)
        {
            (int i, int j) = Cell(s);
            for (int u = i - 1; u <= i + 1; u++)
            {
                for (int v = j - 1; v <= j + 1; v++)
                {
                    if (cells.Contains((u, v)) && other.Stars.Any(t => Math.Abs(t.X - s.X) < StandingPx
                        && Math.Abs(t.Y - s.Y) < StandingPx))
                    {
                        return true;
                    }
                }
            }

            return false;
        }

        return field with { Stars = [.. field.Stars.Where(s => !Stands(s))] };
    }

    private static (int X, int Y) Cell(Star s) => ((int)(s.X / StandingPx), (int)(s.Y / StandingPx));
}
