// Three-vectors and rotations in double precision: just what a rigid camera under a turning sky needs.
// No astronomy here; frames and their meaning are in SkyMotion.cs and BoardCamera.cs.

namespace Hourhinge.Starfield.Geometry;

/// <summary>A vector in a right-handed frame, double precision. Immutable.</summary>
public readonly record struct Vec3(double X, double Y, double Z)
{
    /// <summary>Length of the vector, in the vector's own unit.</summary>
    public double Length => Math.Sqrt(Dot(this));

    /// <summary>The unit vector of the same direction; the vector must not be null.</summary>
    public Vec3 Unit() => this * (1 / Length);

    /// <summary>Scalar product.</summary>
    public double Dot(Vec3 other) => (X * other.X) + (Y * other.Y) + (Z * other.Z);

    /// <summary>Vector product.</summary>
    public Vec3 Cross(Vec3 o) => new((Y * o.Z) - (Z * o.Y), (Z * o.X) - (X * o.Z), (X * o.Y) - (Y * o.X));

    /// <summary>Unit vector of a longitude and a latitude in radians (any spherical pair of that kind).</summary>
    public static Vec3 FromSpherical(double longitudeRad, double latitudeRad)
    {
        double c = Math.Cos(latitudeRad);
        return new Vec3(c * Math.Cos(longitudeRad), c * Math.Sin(longitudeRad), Math.Sin(latitudeRad));
    }

    /// <summary>Sum of two vectors.</summary>
    public static Vec3 operator +(Vec3 a, Vec3 b) => new(a.X + b.X, a.Y + b.Y, a.Z + b.Z);

    /// <summary>Difference of two vectors.</summary>
    public static Vec3 operator -(Vec3 a, Vec3 b) => new(a.X - b.X, a.Y - b.Y, a.Z - b.Z);

    /// <summary>Vector times a number.</summary>
    public static Vec3 operator *(Vec3 a, double s) => new(a.X * s, a.Y * s, a.Z * s);

    /// <summary>Sum, by name.</summary>
    public static Vec3 Add(Vec3 a, Vec3 b) => a + b;

    /// <summary>Difference, by name.</summary>
    public static Vec3 Subtract(Vec3 a, Vec3 b) => a - b;

    /// <summary>Multiple, by name.</summary>
    public static Vec3 Multiply(Vec3 a, double s) => a * s;
}

/// <summary>A 3x3 matrix held as its three rows. Immutable.</summary>
public readonly record struct Mat3(Vec3 Row1, Vec3 Row2, Vec3 Row3)
{
    /// <summary>The matrix that changes nothing.</summary>
    public static Mat3 Identity { get; } = new(new Vec3(1, 0, 0), new Vec3(0, 1, 0), new Vec3(0, 0, 1));

    /// <summary>The matrix with rows and columns exchanged; for a rotation, its inverse.</summary>
    public Mat3 Transposed() => new(
        new Vec3(Row1.X, Row2.X, Row3.X), new Vec3(Row1.Y, Row2.Y, Row3.Y), new Vec3(Row1.Z, Row2.Z, Row3.Z));

    /// <summary>Matrix times column vector.</summary>
    public Vec3 Apply(Vec3 v) => new(Row1.Dot(v), Row2.Dot(v), Row3.Dot(v));

    /// <summary>Matrix product: this matrix after the other one.</summary>
    public Mat3 After(Mat3 first)
    {
        Mat3 columns = first.Transposed();
        return new Mat3(columns.Apply(Row1), columns.Apply(Row2), columns.Apply(Row3));
    }

    /// <summary>
    /// Rotation of vectors about a unit axis by the right-hand rule (Rodrigues' formula).
    /// Given: unit axis, angle in radians. Returned: the matrix that turns a vector by that angle.
    /// </summary>
    public static Mat3 Rotation(Vec3 axis, double angleRad)
    {
        double c = Math.Cos(angleRad), s = Math.Sin(angleRad);
        // 1 - cos in a form that keeps its digits for small angles.
        double half = Math.Sin(angleRad / 2), k = 2 * half * half;
        return new Mat3(
            new Vec3(c + (k * axis.X * axis.X), (k * axis.X * axis.Y) - (s * axis.Z),
                (k * axis.X * axis.Z) + (s * axis.Y)),
            new Vec3((k * axis.X * axis.Y) + (s * axis.Z), c + (k * axis.Y * axis.Y),
                (k * axis.Y * axis.Z) - (s * axis.X)),
            new Vec3((k * axis.X * axis.Z) - (s * axis.Y), (k * axis.Y * axis.Z) + (s * axis.X),
                c + (k * axis.Z * axis.Z)));
    }
}
