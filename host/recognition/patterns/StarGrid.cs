using System.Runtime.CompilerServices;
using Hourhinge.Numerics;
using Hourhinge.Sky.Stars;

namespace Hourhinge.Recognition.Patterns;

/// <summary>The brightest stars of the catalogue in cells of a cube around the unit sphere, brightest first in each
/// cell: finds stars near a direction. Safe for several threads.</summary>
internal sealed class StarGrid
{
    private const double StarsPerCell = 5;
    private static readonly Lazy<StarGrid> _all = new(() => new StarGrid(StarCatalogue.Stars.Count));
    private readonly int _cellsPerAxis;
    private readonly double _cellsPerUnit;
    private readonly int[] _starts;
    private readonly int[] _stars;
    private readonly double[] _x;
    private readonly double[] _y;
    private readonly double[] _z;

    /// <summary>The grid of the first so many stars.</summary>
    [MethodImpl(MethodImplOptions.AggressiveOptimization)]
    public StarGrid(int count)
    {
        // A cell of side h cuts about h² out of the sphere.
        _cellsPerAxis = Math.Clamp((int)(2 * Math.Sqrt(count / (4 * Math.PI * StarsPerCell))), 4, 90);
        _cellsPerUnit = _cellsPerAxis / 2.0;
        int cells = _cellsPerAxis * _cellsPerAxis * _cellsPerAxis;
        _starts = new int[cells + 1];
        int[] cellOf = new int[count];
        ReadOnlySpan<CatalogueStar> catalogue = StarCatalogue.Span;
        for (int i = 0; i < count; i++)
        {
            Vector3 d = catalogue[i].Direction;
            cellOf[i] = (((Cell(d.X) * _cellsPerAxis) + Cell(d.Y)) * _cellsPerAxis) + Cell(d.Z);
            _starts[cellOf[i] + 1]++;
        }

        for (int c = 0; c < cells; c++)
        {
            _starts[c + 1] += _starts[c];
        }

        _stars = new int[count];
        (_x, _y, _z) = (new double[count], new double[count], new double[count]);
        int[] next = _starts[..^1];
        for (int i = 0; i < count; i++)
        {
            int at = next[cellOf[i]]++;
            Vector3 d = catalogue[i].Direction;
            (_stars[at], _x[at], _y[at], _z[at]) = (i, d.X, d.Y, d.Z);
        }
    }

    /// <summary>The grid of the whole catalogue.</summary>
    public static StarGrid All => _all.Value;

    /// <summary>Stars within a distance, in no order; stops when the list is full.</summary>
    /// <param name="direction">Unit vector.</param>
    /// <param name="chord">Straight distance between the ends of the unit vectors.</param>
    /// <param name="limit">Only stars with a lower index.</param>
    /// <param name="found">Receives (square of the chord, index).</param>
    [MethodImpl(MethodImplOptions.AggressiveOptimization)]
    public int Near(Vector3 direction, double chord, int limit, Span<(double Square, int Star)> found)
    {
        var visitor = new Collected(found);
        Visit(direction, chord, limit, ref visitor);
        return visitor.Count;
    }

    /// <summary>The nearest star within a distance, of those with an index in a range; -1 for none.</summary>
    public int Nearest(Vector3 direction, double chord, int from, int limit, out double square)
    {
        var visitor = new NearestOne(from, chord * chord);
        Visit(direction, chord, limit, ref visitor);
        square = visitor.Square;
        return visitor.Star;
    }

    // A structure as type argument is compiled for itself: the walk costs no call for each star.
    [MethodImpl(MethodImplOptions.AggressiveOptimization)]
    private void Visit<TVisitor>(Vector3 direction, double chord, int limit, ref TVisitor visitor)
        where TVisitor : struct, IVisitor, allows ref struct
    {
        int x2 = Cell(direction.X + chord), y1 = Cell(direction.Y - chord), y2 = Cell(direction.Y + chord);
        int z1 = Cell(direction.Z - chord), z2 = Cell(direction.Z + chord);
        double within = chord * chord;
        for (int x = Cell(direction.X - chord); x <= x2; x++)
        {
            for (int y = y1; y <= y2; y++)
            {
                int row = ((x * _cellsPerAxis) + y) * _cellsPerAxis;
                for (int z = z1; z <= z2; z++)
                {
                    for (int at = _starts[row + z]; at < _starts[row + z + 1] && _stars[at] < limit; at++)
                    {
                        double dx = _x[at] - direction.X, dy = _y[at] - direction.Y, dz = _z[at] - direction.Z;
                        double square = (dx * dx) + (dy * dy) + (dz * dz);
                        if (square <= within)
                        {
                            visitor.Add(square, _stars[at]);
                        }
                    }
                }
            }
        }
    }

    private int Cell(double coordinate) => Math.Clamp((int)((coordinate + 1) * _cellsPerUnit), 0, _cellsPerAxis - 1);

    private interface IVisitor
    {
        void Add(double square, int star);
    }

    private ref struct Collected(Span<(double Square, int Star)> found) : IVisitor
    {
        private readonly Span<(double Square, int Star)> _found = found;

        public int Count { get; private set; }

        public void Add(double square, int star)
        {
            if (Count < _found.Length)
            {
                _found[Count++] = (square, star);
            }
        }
    }

    private struct NearestOne(int from, double square) : IVisitor
    {
        public double Square { get; private set; } = square;

        public int Star { get; private set; } = -1;

        public void Add(double square, int star)
        {
            if (square <= Square && star >= from)
            {
                (Square, Star) = (square, star);
            }
        }
    }
}
