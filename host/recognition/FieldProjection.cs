using Hourhinge.Numerics;
using Hourhinge.Sky.Places;

namespace Hourhinge.Recognition;

/// <summary>A place in a frame; pixel centres lie on whole numbers, y counts downwards.</summary>
public readonly record struct FramePoint(double X, double Y);

/// <summary>
/// Where a frame looks and how its lens draws the sky: directions to pixels and back. Gnomonic projection with radial
/// distortion about the lens's axis.
/// </summary>
/// <param name="Width">Columns.</param>
/// <param name="Height">Rows.</param>
/// <param name="ToCamera">Turns J2000 unit vectors into the camera's axes: z along the lens's axis, x to the right, y
/// down (before mirroring).</param>
/// <param name="FocalLengthPx">Focal length in pixels: scale on the axis, pixels per radian.</param>
/// <param name="Lens">Distortion.</param>
/// <param name="Mirrored">True where left and right are swapped against the sky as seen from the ground.</param>
public sealed record FieldProjection(
    int Width, int Height, Rotation ToCamera, double FocalLengthPx, LensDistortion Lens, bool Mirrored)
{
    /// <summary>Column of the frame's centre.</summary>
    public double CentreX => (Width - 1) / 2.0;

    /// <summary>Row of the frame's centre.</summary>
    public double CentreY => (Height - 1) / 2.0;

    /// <summary>Half the frame's diagonal in focal lengths, as drawn (distorted).</summary>
    public double CornerRadius => Math.Sqrt(((double)Width * Width) + ((double)Height * Height)) / 2 / FocalLengthPx;

    /// <summary>Where the lens's axis meets the frame.</summary>
    public OpticalAxis Axis { get; init; }

    /// <summary>Direction of the frame's centre, J2000.</summary>
    public Equatorial Centre => Equatorial.FromVector(At(CentreX, CentreY));

    /// <summary>Position angle of the frame's upward direction at its centre, from north through east, in
    /// [0, 360) degrees.</summary>
    public Angle Roll
    {
        get
        {
            // East and north at the centre, by its right ascension and declination.
            Vector3 centre = At(CentreX, CentreY), up = At(CentreX, CentreY - 1) - centre;
            Vector3 east = EastAt(centre), north = centre.Cross(east);
            return new Angle(Math.Atan2(up.Dot(east), up.Dot(north))).Wrapped();
        }
    }

    /// <summary>A projection with its axis at the frame's centre, from centre and roll instead of a rotation.</summary>
    /// <param name="width">Columns.</param>
    /// <param name="height">Rows.</param>
    /// <param name="centre">Direction of the frame's centre, J2000.</param>
    /// <param name="roll">As <see cref="Roll"/>.</param>
    /// <param name="focalLengthPx">Focal length in pixels, &gt; 0.</param>
    /// <param name="lens">Distortion.</param>
    /// <param name="mirrored">As <see cref="Mirrored"/>.</param>
    public static FieldProjection At(int width, int height, Equatorial centre, Angle roll, double focalLengthPx,
        LensDistortion lens = default, bool mirrored = false)
    {
        Vector3 z = centre.ToVector(), east = EastAt(z), north = z.Cross(east);
        Vector3 up = (north * roll.Cos()) + (east * roll.Sin());
        Vector3 y = up * -1;
        return new FieldProjection(width, height, new Rotation(y.Cross(z), y, z), focalLengthPx, lens, mirrored);
    }

    /// <summary>Where a direction is drawn.</summary>
    /// <param name="direction">Unit vector, J2000.</param>
    /// <returns>Null where it lies more than 89 degrees from the centre or beyond the distortion model's range; it may
    /// lie outside the frame.</returns>
    public FramePoint? ToPixel(Vector3 direction)
    {
        Vector3 v = ToCamera.Apply(direction);
        if (!(v.Z > 0.0175))
        {
            return null;
        }

        double x = v.X / v.Z, y = v.Y / v.Z, r = Math.Sqrt((x * x) + (y * y));
        if (!Lens.RisesTo(r))
        {
            return null;
        }

        double scale = FocalLengthPx * (1 + (Lens.K1 * r * r) + (Lens.K2 * r * r * r * r));
        return new FramePoint(CentreX + Axis.X + (Mirrored ? -x * scale : x * scale), CentreY + Axis.Y + (y * scale));
    }

    /// <summary>The direction that a pixel shows.</summary>
    /// <returns>Unit vector, J2000; null beyond the distortion model's range.</returns>
    public Vector3? ToDirection(FramePoint pixel)
    {
        double x = (pixel.X - CentreX - Axis.X) / FocalLengthPx, y = (pixel.Y - CentreY - Axis.Y) / FocalLengthPx;
        double drawn = Math.Sqrt((x * x) + (y * y)), r = Lens.Undistort(drawn);
        if (double.IsNaN(r))
        {
            return null;
        }

        double scale = drawn > 0 ? r / drawn : 1;
        return ToCamera.Inverse().Apply(new Vector3((Mirrored ? -x : x) * scale, y * scale, 1).Normalized());
    }

    /// <summary>The same camera through a lens without distortion.</summary>
    public FieldProjection Ideal() => this with { Lens = LensDistortion.None, Axis = OpticalAxis.Centre };

    /// <summary>Whether a place lies in the frame.</summary>
    public bool Contains(FramePoint p) => p.X >= -0.5 && p.Y >= -0.5 && p.X <= Width - 0.5 && p.Y <= Height - 0.5;

    // A pixel near the axis, where every lens's model can be inverted.
    private Vector3 At(double x, double y) => ToDirection(new FramePoint(x, y)) ?? ToCamera.Row3;

    private static Vector3 EastAt(Vector3 direction)
    {
        Vector3 east = Vector3.UnitZ.Cross(direction);
        return east.Length > 1e-12 ? east.Normalized() : Vector3.UnitY;
    }
}
