// Finds four catalogue stars by their shape. Method: geometric hashing (Lamdan and Wolfson 1988, Proc. 2nd ICCV, 238)
// of a star and three of its nearest brighter neighbours. That neighbours are brighter makes the pattern the same for
// every limiting magnitude and every scale, as Groth (1986, AJ 91, 1244) demands of his triangles; four stars instead
// of three, as in Mortari et al. (2004, Navigation 51, 171), leave few false candidates.
using System.Runtime.CompilerServices;
using Hourhinge.Numerics;
using Hourhinge.Sky.Stars;

namespace Hourhinge.Recognition.Patterns;

/// <summary>Patterns around a range of catalogue stars, in cells of their code. Safe for several threads.</summary>
internal sealed class PatternIndex
{
    /// <summary>Brighter neighbours of each star from which three are taken.</summary>
    public const int Neighbours = 5;

    // A pair that a lens may not separate is no pattern: neighbours nearer than this part of the farthest are left out.
    private const double MinDistanceRatio = 0.04;
    private const double MaxChord = 0.8;
    private static readonly int[][] _triples = [.. Triples(Neighbours)];

    // Index of the first star behind each range: magnitudes 6.5, 7.8, and the whole catalogue.
    private static readonly int[] _ends = [8192, 40960, int.MaxValue];

    private static readonly Lazy<PatternIndex>[] _ranges =
        [.. _ends.Select((end, i) => new Lazy<PatternIndex>(() => new PatternIndex(i == 0 ? 0 : _ends[i - 1],
            Math.Min(end, StarCatalogue.Stars.Count))))];

    private readonly int _bins;
    private readonly int[] _neighbours;
    private readonly int[] _starts;
    private readonly PatternCode[] _codes;
    private readonly int[] _patterns;

    [MethodImpl(MethodImplOptions.AggressiveOptimization)]
    private PatternIndex(int first, int end)
    {
        (First, End) = (first, end);
        int stars = end - first;
        _bins = Math.Clamp((int)Math.Pow(stars * 4.0, 0.25), 8, 32);
        _neighbours = new int[stars * Neighbours];
        var grid = new StarGrid(end);
        var codes = new List<PatternCode>(stars * _triples.Length);
        var patterns = new List<int>(stars * _triples.Length);
        Span<(double Square, int Star)> near = stackalloc (double, int)[256];
        Span<PatternPoint> points = stackalloc PatternPoint[Neighbours];
        for (int star = first; star < end; star++)
        {
            Span<int> own = _neighbours.AsSpan((star - first) * Neighbours, Neighbours);
            if (!FindNeighbours(grid, star, near, own))
            {
                continue;
            }

            var plane = new PatternPlane(StarCatalogue.Span[star].Direction);
            for (int k = 0; k < Neighbours; k++)
            {
                points[k] = plane.Project(StarCatalogue.Span[own[k]].Direction);
            }

            for (int t = 0; t < _triples.Length; t++)
            {
                codes.Add(PatternCode.Of(points[_triples[t][0]], points[_triples[t][1]], points[_triples[t][2]]));
                patterns.Add((star * _triples.Length) + t);
            }
        }

        (_starts, _codes, _patterns) = Sort(codes, patterns, _bins);
    }

    /// <summary>Index of the first star of the range.</summary>
    public int First { get; }

    /// <summary>Index behind the last star of the range.</summary>
    public int End { get; }

    /// <summary>Number of ranges.</summary>
    public static int RangeCount => _ends.Length;

    /// <summary>Index behind the last star of a range.</summary>
    public static int EndOf(int range) => Math.Min(_ends[range], StarCatalogue.Stars.Count);

    /// <summary>The patterns of a range of stars, brightest range first; built when first asked for.</summary>
    public static PatternIndex Range(int range) => _ranges[range].Value;

    /// <summary>All choices of three of so many, each in rising order.</summary>
    public static IEnumerable<int[]> Triples(int count)
    {
        for (int c = 2; c < count; c++)
        {
            for (int b = 1; b < c; b++)
            {
                for (int a = 0; a < b; a++)
                {
                    yield return [a, b, c];
                }
            }
        }
    }

    /// <summary>The stars of a pattern: origin, nearest, second, farthest.</summary>
    public (int Origin, int Near, int Middle, int Far) Stars(int pattern)
    {
        int star = pattern / _triples.Length, at = (star - First) * Neighbours;
        int[] triple = _triples[pattern % _triples.Length];
        return (star, _neighbours[at + triple[0]], _neighbours[at + triple[1]], _neighbours[at + triple[2]]);
    }

    /// <summary>Patterns whose four numbers are each within a tolerance.</summary>
    public void Find(PatternCode code, float tolerance, List<int> found)
    {
        int a2 = Bin(code.X1 + tolerance, _bins), b1 = Bin(code.Y1 - tolerance, _bins);
        int b2 = Bin(code.Y1 + tolerance, _bins), c1 = Bin(code.X2 - tolerance, _bins);
        int c2 = Bin(code.X2 + tolerance, _bins);
        int d1 = Bin(code.Y2 - tolerance, _bins), d2 = Bin(code.Y2 + tolerance, _bins);
        for (int a = Bin(code.X1 - tolerance, _bins); a <= a2; a++)
        {
            for (int b = b1; b <= b2; b++)
            {
                for (int c = c1; c <= c2; c++)
                {
                    int row = ((((a * _bins) + b) * _bins) + c) * _bins;
                    int end = _starts[row + d2 + 1];
                    for (int at = _starts[row + d1]; at < end; at++)
                    {
                        PatternCode other = _codes[at];
                        if (MathF.Abs(other.X1 - code.X1) <= tolerance && MathF.Abs(other.Y1 - code.Y1) <= tolerance
                            && MathF.Abs(other.X2 - code.X2) <= tolerance
                            && MathF.Abs(other.Y2 - code.Y2) <= tolerance)
                        {
                            found.Add(_patterns[at]);
                        }
                    }
                }
            }
        }
    }

    // The nearest brighter stars, nearest first; false for the few brightest stars, which have none near.
    [MethodImpl(MethodImplOptions.AggressiveOptimization)]
    private static bool FindNeighbours(StarGrid grid, int star, Span<(double Square, int Star)> near, Span<int> own)
    {
        const int Wanted = Neighbours + 2;
        if (star < Wanted)
        {
            return false;
        }

        Vector3 direction = StarCatalogue.Span[star].Direction;
        // A cap of chord c has the share c²/4 of the sphere: ten stars are expected.
        double chord = Math.Sqrt(40.0 / star);
        for (; chord < MaxChord; chord *= 1.4)
        {
            int count = grid.Near(direction, chord, star, near);
            if (count < Wanted)
            {
                continue;
            }

            Span<(double Square, int Star)> sorted = near[..count];
            SortByDistance(sorted);
            double least = sorted[Neighbours - 1].Square * MinDistanceRatio * MinDistanceRatio;
            int skip = 0;
            while (sorted[skip].Square < least && skip < count - Neighbours)
            {
                skip++;
            }

            for (int k = 0; k < Neighbours; k++)
            {
                own[k] = sorted[skip + k].Star;
            }

            return true;
        }

        return false;
    }

    // By insertion: there are ten or twenty, and a library's sort of pairs is slow until it has been compiled twice.
    [MethodImpl(MethodImplOptions.AggressiveOptimization)]
    private static void SortByDistance(Span<(double Square, int Star)> stars)
    {
        for (int i = 1; i < stars.Length; i++)
        {
            (double Square, int Star) one = stars[i];
            int at = i;
            for (; at > 0 && stars[at - 1].Square > one.Square; at--)
            {
                stars[at] = stars[at - 1];
            }

            stars[at] = one;
        }
    }

    [MethodImpl(MethodImplOptions.AggressiveOptimization)]
    private static (int[] Starts, PatternCode[] Codes, int[] Patterns) Sort(
        List<PatternCode> codes, List<int> patterns, int bins)
    {
        int[] starts = new int[(bins * bins * bins * bins) + 1];
        int[] cells = new int[codes.Count];
        for (int i = 0; i < cells.Length; i++)
        {
            PatternCode c = codes[i];
            cells[i] = (((((Bin(c.X1, bins) * bins) + Bin(c.Y1, bins)) * bins) + Bin(c.X2, bins)) * bins)
                + Bin(c.Y2, bins);
            starts[cells[i] + 1]++;
        }

        for (int c = 1; c < starts.Length; c++)
        {
            starts[c] += starts[c - 1];
        }

        var sortedCodes = new PatternCode[cells.Length];
        int[] sortedPatterns = new int[cells.Length], next = starts[..^1];
        for (int i = 0; i < cells.Length; i++)
        {
            int at = next[cells[i]]++;
            (sortedCodes[at], sortedPatterns[at]) = (codes[i], patterns[i]);
        }

        return (starts, sortedCodes, sortedPatterns);
    }

    private static int Bin(float value, int bins) => Math.Clamp((int)((value + 1) * 0.5f * bins), 0, bins - 1);
}
