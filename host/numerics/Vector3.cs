// Unit vectors and the three rotations that all frames are linked by. Callers mostly want Directions.cs.
// Right-handed axes; a rotation turns the axes, not the vector (the convention of the published matrices).
namespace Hourhinge.Numerics;

/// <summary>Three coordinates in whatever axes its maker says; directions have length 1.</summary>
public readonly record struct Vector3(double X, double Y, double Z)
{
    public double Length => Math.Sqrt(Dot(this));

    /// <summary>The vector at a longitude-like and a latitude-like angle.</summary>
    public static Vector3 FromSpherical(Angle longitude, Angle latitude) => new Vector3(
        latitude.Cos() * longitude.Cos(), latitude.Cos() * longitude.Sin(), latitude.Sin());

    public Angle Longitude() => new Angle(Math.Atan2(Y, X));

    public Angle Latitude() => new Angle(Math.Atan2(Z, Math.Sqrt((X * X) + (Y * Y))));

    public double Dot(Vector3 o) => (X * o.X) + (Y * o.Y) + (Z * o.Z);

    public Vector3 Cross(Vector3 o) => new Vector3((Y * o.Z) - (Z * o.Y), (Z * o.X) - (X * o.Z), (X * o.Y) - (Y * o.X));

    public Vector3 Normalized() => this / Length;

    public Vector3 RotateX(Angle a) => new Vector3(X, (a.Cos() * Y) + (a.Sin() * Z), (-a.Sin() * Y) + (a.Cos() * Z));

    public Vector3 RotateY(Angle a) => new Vector3((a.Cos() * X) - (a.Sin() * Z), Y, (a.Sin() * X) + (a.Cos() * Z));

    public Vector3 RotateZ(Angle a) => new Vector3((a.Cos() * X) + (a.Sin() * Y), (-a.Sin() * X) + (a.Cos() * Y), Z);

    /// <summary>Turns the vector itself right-handedly about a unit axis (Rodrigues' formula).</summary>
    public Vector3 TurnedAbout(Vector3 axis, Angle a) =>
        (this * a.Cos()) + (axis.Cross(this) * a.Sin()) + (axis * (axis.Dot(this) * (1 - a.Cos())));

    public static Vector3 operator +(Vector3 a, Vector3 b) => new Vector3(a.X + b.X, a.Y + b.Y, a.Z + b.Z);
    public static Vector3 operator -(Vector3 a, Vector3 b) => new Vector3(a.X - b.X, a.Y - b.Y, a.Z - b.Z);
    public static Vector3 operator *(Vector3 a, double k) => new Vector3(a.X * k, a.Y * k, a.Z * k);
    public static Vector3 operator /(Vector3 a, double k) => new Vector3(a.X / k, a.Y / k, a.Z / k);
}
