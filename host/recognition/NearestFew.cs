using System.Runtime.CompilerServices;

namespace Hourhinge.Recognition;

/// <summary>The nearest few of many places, nearest first.</summary>
/// <param name="squares">Room for squares of distances.</param>
/// <param name="indices">As much room for indices.</param>
internal ref struct NearestFew(Span<double> squares, Span<int> indices)
{
    private readonly Span<double> _squares = squares;
    private readonly Span<int> _indices = indices;
    private int _count;

    /// <summary>Indices of the places kept.</summary>
    public readonly ReadOnlySpan<int> Indices => _indices[.._count];

    /// <summary>Square of the distance of the last of them.</summary>
    public readonly double FarthestSquare => _squares[_count - 1];

    /// <summary>Keeps a place if it is among the nearest so far; of equal ones the first offered.</summary>
    [MethodImpl(MethodImplOptions.AggressiveInlining)]
    public void Offer(double square, int index)
    {
        if (_count == _squares.Length && square >= _squares[^1])
        {
            return;
        }

        int place = _count < _squares.Length ? _count++ : _count - 1;
        for (; place > 0 && _squares[place - 1] > square; place--)
        {
            (_squares[place], _indices[place]) = (_squares[place - 1], _indices[place - 1]);
        }

        (_squares[place], _indices[place]) = (square, index);
    }
}
