namespace Hourhinge.Numerics;

/// <summary>Three coordinates in right-handed axes that the caller defines; directions have length 1.</summary>
public readonly record struct Vector3(double X, double Y, double Z)
{
    public static Vector3 UnitX { get; } = new(1, 0, 0);

    public static Vector3 UnitY { get; } = new(0, 1, 0);

    public static Vector3 UnitZ { get; } = new(0, 0, 1);

    public double Length => Math.Sqrt(Dot(this));

    /// <summary>The unit vector at a longitude-like and a latitude-like angle.</summary>
    public static Vector3 FromSpherical(Angle longitude, Angle latitude) => new Vector3(
        latitude.Cos() * longitude.Cos(), latitude.Cos() * longitude.Sin(), latitude.Sin());

    public Angle Longitude() => new Angle(Math.Atan2(Y, X));

    public Angle Latitude() => new Angle(Math.Atan2(Z, Math.Sqrt((X * X) + (Y * Y))));

    public double Dot(Vector3 o) => (X * o.X) + (Y * o.Y) + (Z * o.Z);

    public Vector3 Cross(Vector3 o) => new Vector3((Y * o.Z) - (Z * o.Y), (Z * o.X) - (X * o.Z), (X * o.Y) - (Y * o.X));

    public Vector3 Normalized() => this / Length;

    /// <summary>The same vector in axes turned about their x axis by an angle (R1 of the published
    /// matrices).</summary>
    public Vector3 RotateX(Angle a) => Rotation.About(UnitX, -a).Apply(this);

    /// <summary>In axes turned about their y axis (R2).</summary>
    public Vector3 RotateY(Angle a) => Rotation.About(UnitY, -a).Apply(this);

    /// <summary>In axes turned about their z axis (R3).</summary>
    public Vector3 RotateZ(Angle a) => Rotation.About(UnitZ, -a).Apply(this);

    public static Vector3 operator +(Vector3 a, Vector3 b) => new Vector3(a.X + b.X, a.Y + b.Y, a.Z + b.Z);
    public static Vector3 operator -(Vector3 a, Vector3 b) => new Vector3(a.X - b.X, a.Y - b.Y, a.Z - b.Z);
    public static Vector3 operator *(Vector3 a, double k) => new Vector3(a.X * k, a.Y * k, a.Z * k);
    public static Vector3 operator /(Vector3 a, double k) => new Vector3(a.X / k, a.Y / k, a.Z / k);
}
