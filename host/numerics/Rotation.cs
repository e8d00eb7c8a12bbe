namespace Hourhinge.Numerics;

/// <summary>A rotation of vectors (or a change to other right-handed axes), as the three rows of its matrix.</summary>
public readonly record struct Rotation(Vector3 Row1, Vector3 Row2, Vector3 Row3)
{
    /// <summary>The rotation by nothing.</summary>
    public static Rotation Identity { get; } = new(Vector3.UnitX, Vector3.UnitY, Vector3.UnitZ);

    /// <summary>Turns vectors right-handedly about a unit axis (Rodrigues' formula).</summary>
    public static Rotation About(Vector3 axis, Angle angle)
    {
        double c = angle.Cos(), s = angle.Sin();
        // 1 - cos in a form that keeps its digits for small angles.
        double half = Math.Sin(angle.Radians / 2), k = 2 * half * half;
        return new Rotation(
            new Vector3(c + (k * axis.X * axis.X), (k * axis.X * axis.Y) - (s * axis.Z),
                (k * axis.X * axis.Z) + (s * axis.Y)),
            new Vector3((k * axis.X * axis.Y) + (s * axis.Z), c + (k * axis.Y * axis.Y),
                (k * axis.Y * axis.Z) - (s * axis.X)),
            new Vector3((k * axis.X * axis.Z) - (s * axis.Y), (k * axis.Y * axis.Z) + (s * axis.X),
                c + (k * axis.Z * axis.Z)));
    }

    /// <summary>Turns vectors about the direction of a vector by its length in radians.</summary>
    public static Rotation By(Vector3 rotationVector)
    {
        double angle = rotationVector.Length;
        return angle > 0 ? About(rotationVector / angle, new Angle(angle)) : Identity;
    }

    /// <summary>The vector turned.</summary>
    public Vector3 Apply(Vector3 v) => new(Row1.Dot(v), Row2.Dot(v), Row3.Dot(v));

    /// <summary>The rotation that undoes this one.</summary>
    public Rotation Inverse() => new(
        new Vector3(Row1.X, Row2.X, Row3.X), new Vector3(Row1.Y, Row2.Y, Row3.Y), new Vector3(Row1.Z, Row2.Z, Row3.Z));

    /// <summary>This rotation after another one.</summary>
    public Rotation After(Rotation first)
    {
        Rotation columns = first.Inverse();
        return new Rotation(columns.Apply(Row1), columns.Apply(Row2), columns.Apply(Row3));
    }
}
