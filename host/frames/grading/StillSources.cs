// What stands still on the sensor while something else moves: hot pixels and the landscape before a standing camera;
// hot pixels alone on a tracker, whose landscape moves instead. Of the two groups the stars are the one whose members
// look alike: stars of a frame share one shape, edges of roofs and trees do not.
using Hourhinge.Frames.Matching;
using Hourhinge.Frames.Stars;
using Hourhinge.Numerics;

namespace Hourhinge.Frames.Grading;

/// <summary>Splits a run's sources into the sky's and others.</summary>
/// <param name="Sky">For each frame, the sources that belong to the sky.</param>
/// <param name="Removed">For each frame, how many others there were.</param>
/// <param name="Remark">What was decided, as a sentence; empty where nothing was.</param>
internal sealed record StillSources(IReadOnlyList<List<Star>> Sky, IReadOnlyList<int> Removed, string Remark)
{
    private const double SamePx = 0.6;
    private const int MinFrames = 3;
    private const double MinShare = 0.4;
    private const int MinGroup = 15;
    private const double MinMotionPx = 2;

    /// <summary>Splits the marks of frames of one size, in the order of the run.</summary>
    public static StillSources Of(IReadOnlyList<StarMark[]> frames, int width, int height)
    {
        bool[][] still = FindStill(frames);
        var moving = frames.Select((f, i) => Pick(f, still[i], false)).ToList();
        var standing = frames.Select((f, i) => Pick(f, still[i], true)).ToList();
        double share = Median.Of(frames.Select((f, i) => f.Length == 0 ? 0.0 : (double)standing[i].Count / f.Length)
            .DefaultIfEmpty(0));
        if (standing.All(s => s.Count == 0))
        {
            return Undivided(frames);
        }

        bool movesTogether = MovesTogether(moving, width, height);
        double movingCount = Median.Of(moving.Select(m => (double)m.Count));
        double standingCount = Median.Of(standing.Select(m => (double)m.Count));
        // A tracked run without drift: all that is bright stands still, and what comes and goes is noise.
        if (share >= 0.5 && !(movesTogether && movingCount >= MinGroup))
        {
            return Undivided(frames);
        }

        bool skyMoves = share < 0.5 || standingCount < MinGroup || Variety(moving) < Variety(standing);
        // Few of many stand still by chance of a rich field, or where nothing else was followed: they stay.
        if (!movesTogether && share < 0.5 && standingCount < 3)
        {
            return Undivided(frames);
        }

        string remark = Math.Min(movingCount, standingCount) < MinGroup
            ? ""
            : $"{standingCount:0} sources a frame stand still on the sensor and {movingCount:0} move together; "
                + (skyMoves
                    ? "those that move are taken for the stars (their shapes are alike), the others for landscape and "
                        + "hot pixels."
                    : "those that stand still are taken for the stars (their shapes are alike), the others for "
                        + "landscape.");
        return skyMoves
            ? new StillSources(moving, [.. standing.Select(s => s.Count)], remark)
            : new StillSources(standing, [.. moving.Select(s => s.Count)], remark);
    }

    private static StillSources Undivided(IReadOnlyList<StarMark[]> frames) =>
        new([.. frames.Select(f => f.Select(m => m.ToStar()).ToList())], new int[frames.Count], "");

    private static List<Star> Pick(StarMark[] marks, bool[] still, bool wanted) =>
        [.. marks.Where((_, i) => still[i] == wanted).Select(m => m.ToStar())];

    // A source stands still that is found at the same place in at least 3 frames and 40 % of them.
    private static bool[][] FindStill(IReadOnlyList<StarMark[]> frames)
    {
        var places = new Dictionary<(int, int), List<Place>>();
        var homes = new Place[frames.Count][];
        for (int f = 0; f < frames.Count; f++)
        {
            homes[f] = [.. frames[f].Select(m => Home(places, m, f))];
        }

        double least = Math.Max(MinFrames, MinShare * frames.Count);
        return [.. homes.Select(h => h.Select(p => p.Frames >= least).ToArray())];
    }

    private sealed class Place(float x, float y)
    {
        public float X { get; } = x;

        public float Y { get; } = y;

        public int Frames { get; set; }

        public int Latest { get; set; } = -1;
    }

    private static Place Home(Dictionary<(int, int), List<Place>> places, StarMark mark, int frame)
    {
        (int i, int j) = ((int)mark.X, (int)mark.Y);
        Place? best = null;
        double nearest = SamePx * SamePx;
        for (int v = j - 1; v <= j + 1; v++)
        {
            for (int u = i - 1; u <= i + 1; u++)
            {
                foreach (Place p in places.GetValueOrDefault((u, v)) ?? [])
                {
                    (double dx, double dy) = (p.X - mark.X, p.Y - mark.Y);
                    double d = (dx * dx) + (dy * dy);
                    if (d < nearest)
                    {
                        (nearest, best) = (d, p);
                    }
                }
            }
        }

        if (best is null)
        {
            best = new Place(mark.X, mark.Y);
            if (!places.TryGetValue((i, j), out List<Place>? cell))
            {
                places[(i, j)] = cell = [];
            }

            cell.Add(best);
        }

        if (best.Latest != frame)
        {
            (best.Latest, best.Frames) = (frame, best.Frames + 1);
        }

        return best;
    }

    // Whether more than half of the neighbouring frames match and have moved.
    private static bool MovesTogether(List<List<Star>> frames, int width, int height)
    {
        int moved = 0;
        for (int i = 1; i < frames.Count; i++)
        {
            (IReadOnlyList<StarPair> Pairs, FieldMotion Motion)? match = StarMatcher.Match(
                RunMotion.Field(frames[i - 1], width, height), RunMotion.Field(frames[i], width, height));
            moved += match is { } m && m.Pairs.Count >= MinGroup
                && Math.Sqrt(Math.Pow(m.Motion.ShiftXPx, 2) + Math.Pow(m.Motion.ShiftYPx, 2)) > MinMotionPx ? 1 : 0;
        }

        return moved > (frames.Count - 1) / 2;
    }

    // Scatter of sizes, as the median departure of the logarithm of the area.
    private static double Variety(List<List<Star>> frames)
    {
        var sizes = frames.SelectMany(f => f).Select(s => Math.Log(Math.Max(s.FwhmPx, 0.1))).ToList();
        if (sizes.Count == 0)
        {
            return double.PositiveInfinity;
        }

        double middle = Median.Of(sizes);
        return Median.Of(sizes.Select(s => Math.Abs(s - middle)));
    }
}
