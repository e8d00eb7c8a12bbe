using System.Runtime.CompilerServices;
using Hourhinge.Numerics;

namespace Hourhinge.Recognition;

/// <summary>A field under test: attitude, focal length, distortion.</summary>
/// <param name="ToCamera">As in <see cref="FieldProjection"/>.</param>
/// <param name="FocalLengthPx">Focal length.</param>
/// <param name="Lens">Distortion.</param>
/// <param name="Mirrored">Mirror image.</param>
/// <param name="Axis">Where the lens's axis meets the frame.</param>
internal readonly record struct CameraModel(
    Rotation ToCamera, double FocalLengthPx, LensDistortion Lens, bool Mirrored, OpticalAxis Axis = default)
{
    /// <summary>Place relative to the frame's centre; false where the model draws nothing.</summary>
    [MethodImpl(MethodImplOptions.AggressiveInlining)]
    public bool TryDraw(Vector3 direction, out double x, out double y)
    {
        double z = ToCamera.Row3.Dot(direction);
        if (!(z > 0.0175))
        {
            (x, y) = (0, 0);
            return false;
        }

        double u = ToCamera.Row1.Dot(direction) / z, v = ToCamera.Row2.Dot(direction) / z, square = (u * u) + (v * v);
        double scale = 1 + (square * (Lens.K1 + (Lens.K2 * square)));
        double slope = 1 + (square * ((3 * Lens.K1) + (5 * Lens.K2 * square)));
        x = Axis.X + ((Mirrored ? -u : u) * scale * FocalLengthPx);
        y = Axis.Y + (v * scale * FocalLengthPx);
        return slope > 0.05;
    }

    /// <summary>Parameters changed: rotation about the camera's x, y, z (radians), logarithm of the focal length, the
    /// two distortions as the part that they shift a corner, and the axis as the tangent of the angle that it moves by.
    /// The camera turns with the axis, so that the frame's centre goes on showing the same direction.</summary>
    /// <param name="d">Six changes, or eight with those of the axis.</param>
    /// <param name="corner">Tangent of the angle to a corner that the distortions refer to.</param>
    public CameraModel Changed(ReadOnlySpan<double> d, double corner)
    {
        double square = corner * corner;
        (double right, double down) = d.Length > 6 ? (d[6], d[7]) : (0, 0);
        return this with
        {
            ToCamera = Rotation.By(new Vector3(d[0] + down, d[1] + (Mirrored ? right : -right), d[2])).After(ToCamera),
            FocalLengthPx = FocalLengthPx * Math.Exp(d[3]),
            Lens = new LensDistortion(Lens.K1 + (d[4] / square), Lens.K2 + (d[5] / (square * square))),
            Axis = new OpticalAxis(Axis.X + (right * FocalLengthPx), Axis.Y + (down * FocalLengthPx)),
        };
    }

    /// <summary>The same as a public type.</summary>
    public FieldProjection ToProjection(int width, int height) =>
        new(width, height, ToCamera, FocalLengthPx, Lens, Mirrored) { Axis = Axis };
}

/// <summary>A source and a catalogue star that are thought to be the same.</summary>
internal readonly record struct Pair(int Image, int Star);
