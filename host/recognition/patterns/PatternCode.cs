using System.Runtime.CompilerServices;
using Hourhinge.Numerics;

namespace Hourhinge.Recognition.Patterns;

/// <summary>
/// Shape of four stars, one of them the origin: the two nearer ones in units of the farthest (complex quotients), in
/// the plane that touches the sphere at the origin. It does not change with position, rotation and scale; a mirror
/// image has the conjugate numbers.
/// </summary>
/// <param name="X1">Nearest star, along the line to the farthest.</param>
/// <param name="Y1">Nearest star, across it.</param>
/// <param name="X2">Second star, along.</param>
/// <param name="Y2">Second star, across.</param>
internal readonly record struct PatternCode(float X1, float Y1, float X2, float Y2)
{
    /// <summary>The code of three neighbours given from the nearest to the farthest, relative to the origin.</summary>
    [MethodImpl(MethodImplOptions.AggressiveOptimization)]
    public static PatternCode Of(PatternPoint near, PatternPoint middle, PatternPoint far)
    {
        double square = (far.X * far.X) + (far.Y * far.Y);
        return new PatternCode(
            (float)(((near.X * far.X) + (near.Y * far.Y)) / square),
            (float)(((near.Y * far.X) - (near.X * far.Y)) / square),
            (float)(((middle.X * far.X) + (middle.Y * far.Y)) / square),
            (float)(((middle.Y * far.X) - (middle.X * far.Y)) / square));
    }
}

/// <summary>A star in the plane that touches the sphere at another star, in tangents of the angle.</summary>
internal readonly record struct PatternPoint(double X, double Y)
{
    /// <summary>Square of the distance from the origin.</summary>
    public double Square => (X * X) + (Y * Y);
}

/// <summary>Axes of the plane that touches the unit sphere at a direction, right-handed with the direction
/// third.</summary>
internal readonly struct PatternPlane
{
    private readonly Vector3 _origin;
    private readonly Vector3 _first;
    private readonly Vector3 _second;

    /// <summary>The plane at a unit vector; the axes' turn is arbitrary.</summary>
    [MethodImpl(MethodImplOptions.AggressiveOptimization)]
    public PatternPlane(Vector3 origin)
    {
        Vector3 other = Math.Abs(origin.Z) < 0.8 ? Vector3.UnitZ : Vector3.UnitX;
        _origin = origin;
        _first = other.Cross(origin).Normalized();
        _second = origin.Cross(_first);
    }

    /// <summary>A direction within 80 degrees of the origin.</summary>
    [MethodImpl(MethodImplOptions.AggressiveOptimization)]
    public PatternPoint Project(Vector3 direction)
    {
        double depth = Math.Max(_origin.Dot(direction), 0.17);
        return new PatternPoint(_first.Dot(direction) / depth, _second.Dot(direction) / depth);
    }
}
