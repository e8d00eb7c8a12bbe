// Which star of one frame is which of another. First a vote over the shifts of bright pairs (quick, for the same lens
// and little turn); where that gives no clear winner, a vote over triangles of like shape (any turn, any scale).
// Not here: the precise motion (FieldMotion).
using Hourhinge.Frames.Stars;

namespace Hourhinge.Frames.Matching;

/// <summary>Matches two star lists.</summary>
public static class StarMatcher
{
    private const int VoteStars = 100;
    private const int TriangleStars = 30;
    private const double CellPx = 24;
    private const int MinPairs = 6;

    /// <summary>Pairs the stars of two frames; null where no convincing match exists.</summary>
    /// <param name="reference">One frame's stars.</param>
    /// <param name="seen">The other's.</param>
    /// <param name="focalLengthPx">For the exact motion of a wide field, see <see cref="FieldMotion.Fit"/>.</param>
    /// <param name="expected">A guess of the motion, tried first; null for none.</param>
    public static (IReadOnlyList<StarPair> Pairs, FieldMotion Motion)? Match(
        StarField reference, StarField seen, double? focalLengthPx = null, FieldMotion? expected = null)
    {
        if (reference.Stars.Count < MinPairs || seen.Stars.Count < MinPairs)
        {
            return null;
        }

        if (expected is not null && Refine(reference, seen, expected, 6, focalLengthPx) is { } quick
            && IsSignificant(quick.Pairs.Count, reference, seen))
        {
            return quick;
        }

        if (ShiftByVote(reference, seen) is { } shift
            && Refine(reference, seen, shift, 80, focalLengthPx) is { } nearby
            && IsSignificant(nearby.Pairs.Count, reference, seen))
        {
            return nearby;
        }

        if (SimilarityByTriangles(reference, seen) is { } similar
            && Refine(reference, seen, similar, 12, focalLengthPx) is { } far
            && IsSignificant(far.Pairs.Count, reference, seen))
        {
            return far;
        }

        return null;
    }

    // Chance pairs within the last tolerance of 2 px are rare; a quarter of the bright stars in common is no chance.
    private static bool IsSignificant(int pairs, StarField a, StarField b)
    {
        int possible = Math.Min(a.Stars.Count, b.Stars.Count);
        double byChance = possible
            * (Math.PI * 4 * Math.Max(a.Stars.Count, b.Stars.Count) / ((double)a.Width * a.Height));
        return pairs >= MinPairs && pairs > 5 * byChance && pairs >= Math.Min(0.12 * possible, 60);
    }

    private static (IReadOnlyList<StarPair> Pairs, FieldMotion Motion)? Refine(
        StarField reference, StarField seen, FieldMotion guess, double reach, double? focal)
    {
        FieldMotion motion = guess;
        IReadOnlyList<StarPair> pairs = Array.Empty<StarPair>();
        // Few bright stars with a wide net first, all stars with a narrow one last.
        foreach ((double radius, int most) in new[] { (reach, 60), (Math.Min(reach, 12), 150), (4.0, 400),
            (2.0, int.MaxValue), (2.0, int.MaxValue) })
        {
            pairs = Nearest(reference, seen, motion, radius, most, focal);
            if (FieldMotion.Fit(pairs, reference.Width, reference.Height, radius > 4 ? null : focal,
                motion) is not { } better)
            {
                return null;
            }

            motion = better;
        }
        return (pairs, motion);
    }

    private static List<StarPair> Nearest(StarField reference, StarField seen, FieldMotion motion, double radius,
        int most, double? focal)
    {
        double cell = Math.Max(radius, 8);
        var grid = new Dictionary<(int, int), List<int>>();
        int count = Math.Min(seen.Stars.Count, most);
        for (int i = 0; i < count; i++)
        {
            var key = ((int)(seen.Stars[i].X / cell), (int)(seen.Stars[i].Y / cell));
            if (!grid.TryGetValue(key, out List<int>? list))
            {
                grid[key] = list = new List<int>(2);
            }

            list.Add(i);
        }
        var pairs = new List<StarPair>();
        var taken = new HashSet<int>();
        foreach (Star star in reference.Stars.Take(most))
        {
            (double x, double y) = Predicted(star, reference, motion, focal);
            int bestIndex = -1;
            double best = radius * radius;
            for (int j = (int)(y / cell) - 1; j <= (int)(y / cell) + 1; j++)
            {
                for (int i = (int)(x / cell) - 1; i <= (int)(x / cell) + 1; i++)
                {
                    if (!grid.TryGetValue((i, j), out List<int>? list))
                    {
                        continue;
                    }

                    foreach (int k in list)
                    {
                        (double dx, double dy) = (seen.Stars[k].X - x, seen.Stars[k].Y - y);
                        double d = (dx * dx) + (dy * dy);
                        if (d < best)
                        {
                            (best, bestIndex) = (d, k);
                        }
                    }
                }
            }
            if (bestIndex >= 0 && taken.Add(bestIndex))
            {
                pairs.Add(new StarPair(star, seen.Stars[bestIndex]));
            }
        }
        return pairs;
    }

    private static (double X, double Y) Predicted(Star star, StarField field, FieldMotion m, double? focal)
    {
        (double x, double y) = m.Apply(star.X, star.Y, field.Width, field.Height);
        if (focal is not { } f)
        {
            return (x, y);
        }
        // Second order of a turned wide field: the shift grows with the square of the field angle.
        double u = (star.X - ((field.Width - 1) / 2.0)) / f, v = (star.Y - ((field.Height - 1) / 2.0)) / f;
        return (x + (m.ShiftXPx * u * u) + (m.ShiftYPx * u * v), y + (m.ShiftYPx * v * v) + (m.ShiftXPx * u * v));
    }

    private static FieldMotion? ShiftByVote(StarField reference, StarField seen)
    {
        var votes = new Dictionary<(int, int), int>();
        var a = reference.Stars.Take(VoteStars).ToList();
        var b = seen.Stars.Take(VoteStars).ToList();
        foreach (Star p in a)
        {
            foreach (Star q in b)
            {
                var key = ((int)Math.Floor((q.X - p.X) / CellPx), (int)Math.Floor((q.Y - p.Y) / CellPx));
                votes[key] = votes.GetValueOrDefault(key) + 1;
            }
        }
        (int I, int J) top = default;
        int best = 0;
        foreach ((int i, int j) in votes.Keys)
        {
            int sum = votes.GetValueOrDefault((i, j)) + votes.GetValueOrDefault((i + 1, j))
                + votes.GetValueOrDefault((i, j + 1)) + votes.GetValueOrDefault((i + 1, j + 1));
            if (sum > best || (sum == best && (i, j).CompareTo(top) < 0))
            {
                (best, top) = (sum, (i, j));
            }
        }
        if (best < Math.Max(5, 0.12 * Math.Min(a.Count, b.Count)))
        {
            return null;
        }

        double sx = 0, sy = 0;
        int n = 0;
        foreach (Star p in a)
        {
            foreach (Star q in b)
            {
                double dx = q.X - p.X, dy = q.Y - p.Y;
                if (Math.Floor(dx / CellPx) - top.I is 0 or 1 && Math.Floor(dy / CellPx) - top.J is 0 or 1)
                {
                    (sx, sy, n) = (sx + dx, sy + dy, n + 1);
                }
            }
        }
        return new FieldMotion(sx / n, sy / n, 0, 1, CellPx, 0.01, n, CellPx);
    }

    private static FieldMotion? SimilarityByTriangles(StarField reference, StarField seen)
    {
        var shapes = Triangles(reference.Stars).OrderBy(t => t.Ratio1).ToList();
        double[] keys = shapes.Select(t => t.Ratio1).ToArray();
        var votes = new Dictionary<(int, int), int>();
        foreach (Triangle t in Triangles(seen.Stars))
        {
            const double Near = 0.002;
            int from = Array.BinarySearch(keys, t.Ratio1 - Near);
            for (int i = from < 0 ? ~from : from; i < keys.Length && keys[i] < t.Ratio1 + Near; i++)
            {
                Triangle s = shapes[i];
                if (Math.Abs(s.Ratio2 - t.Ratio2) > Near || s.Turn != t.Turn)
                {
                    continue;
                }

                foreach ((int, int) key in new[] { (s.A, t.A), (s.B, t.B), (s.C, t.C) })
                {
                    votes[key] = votes.GetValueOrDefault(key) + 1;
                }
            }
        }
        var ranked = votes.OrderByDescending(v => v.Value).ThenBy(v => v.Key).Take(40).ToList();
        // Try the similarity of every two leading pairs; keep the one most other leading pairs agree with.
        FieldMotion? best = null;
        int most = 3;
        for (int i = 0; i < ranked.Count; i++)
        {
            for (int j = i + 1; j < ranked.Count; j++)
            {
                FieldMotion? m = FromTwo(reference, seen, ranked[i].Key, ranked[j].Key);
                if (m is null)
                {
                    continue;
                }

                int agree = ranked.Count(v =>
                {
                    (double x, double y) = m.Apply(reference.Stars[v.Key.Item1].X, reference.Stars[v.Key.Item1].Y,
                        reference.Width, reference.Height);
                    return Math.Pow(x - seen.Stars[v.Key.Item2].X, 2) + Math.Pow(y - seen.Stars[v.Key.Item2].Y, 2) < 64;
                });
                if (agree > most)
                {
                    (most, best) = (agree, m);
                }
            }
        }
        return best;
    }

    private readonly record struct Triangle(double Ratio1, double Ratio2, bool Turn, int A, int B, int C);

    private static IEnumerable<Triangle> Triangles(IReadOnlyList<Star> stars)
    {
        int n = Math.Min(stars.Count, TriangleStars);
        for (int i = 0; i < n; i++)
        {
            for (int j = i + 1; j < n; j++)
            {
                for (int k = j + 1; k < n; k++)
                {
                    // Corners named by the side opposite: A opposite the longest, C opposite the shortest.
                    (double, int)[] sides = new[] { (Side(stars[j], stars[k]), i), (Side(stars[i], stars[k]), j),
                        (Side(stars[i], stars[j]), k) };
                    Array.Sort(sides);
                    (double shortest, int c) = sides[0];
                    (double middle, int b) = sides[1];
                    (double longest, int a) = sides[2];
                    if (longest < 60 || shortest / longest < 0.15)
                    {
                        continue;
                    }

                    double cross = ((stars[b].X - stars[a].X) * (stars[c].Y - stars[a].Y))
                        - ((stars[b].Y - stars[a].Y) * (stars[c].X - stars[a].X));
                    yield return new Triangle(middle / longest, shortest / longest, cross > 0, a, b, c);
                }
            }
        }
    }

    private static double Side(Star p, Star q) => double.Hypot(p.X - q.X, p.Y - q.Y);

    private static FieldMotion? FromTwo(StarField reference, StarField seen, (int R, int S) p, (int R, int S) q)
    {
        if (p.R == q.R || p.S == q.S)
        {
            return null;
        }

        double ax = reference.Stars[q.R].X - reference.Stars[p.R].X, ay = reference.Stars[q.R].Y
            - reference.Stars[p.R].Y;
        double bx = seen.Stars[q.S].X - seen.Stars[p.S].X, by = seen.Stars[q.S].Y - seen.Stars[p.S].Y;
        double scale = Math.Sqrt(((bx * bx) + (by * by)) / Math.Max((ax * ax) + (ay * ay), 1));
        if (scale is < 0.1 or > 10)
        {
            return null;
        }

        double turn = Math.Atan2(by, bx) - Math.Atan2(ay, ax);
        var pivot = new FieldMotion(0, 0, turn, scale, 1, 0.01, 2, 1);
        (double x, double y) =
            pivot.Apply(reference.Stars[p.R].X, reference.Stars[p.R].Y, reference.Width, reference.Height);
        return pivot with { ShiftXPx = seen.Stars[p.S].X - x, ShiftYPx = seen.Stars[p.S].Y - y };
    }
}
