using Hourhinge.Numerics;

namespace Hourhinge.Recognition;

/// <summary>A star-like source of a frame, catalogue star or not.</summary>
/// <param name="X">Column; pixel centres lie on whole numbers.</param>
/// <param name="Y">Row, counted downwards.</param>
/// <param name="Flux">Brightness in any linear unit, &gt; 0.</param>
/// <param name="SigmaPx">Expected error of the place along one axis, pixels; 0 where unknown.</param>
public readonly record struct ImageStar(double X, double Y, double Flux, double SigmaPx = 0);

/// <summary>What is known of a frame before it is recognised. Everything may be left out. A wrong hint makes a frame
/// "not recognised"; it never makes a wrong field acceptable.</summary>
public sealed record FieldHint
{
    /// <summary>Focal length in pixels; null where unknown.</summary>
    public double? FocalLengthPx { get; init; }

    /// <summary>How far <see cref="FocalLengthPx"/> may be off, as a fraction.</summary>
    public double FocalLengthTolerance { get; init; } = 0.15;

    /// <summary>The lens's distortion where it has been measured; refined all the same.</summary>
    public LensDistortion? Lens { get; init; }

    /// <summary>Where the lens's axis meets the frame, from another frame of the same size through this lens; held as
    /// it is. Null: found from the stars.</summary>
    public OpticalAxis? Axis { get; init; }

    /// <summary>Whether the frame is a mirror image; null where unknown.</summary>
    public bool? Mirrored { get; init; }

    /// <summary>J2000 direction near the frame's centre; null where unknown.</summary>
    public Vector3? Centre { get; init; }

    /// <summary>How far <see cref="Centre"/> may be off.</summary>
    public Angle CentreTolerance { get; init; } = Angle.FromDegrees(5);

    /// <summary>
    /// Shifts J2000 catalogue directions to where the star is seen at the frame's time and site (proper rotation of the
    /// whole sky left out): refraction and aberration, for example. Null: catalogue places are used as they are, and
    /// refraction enters centre, focal length and residuals.
    /// </summary>
    public Func<Vector3, Vector3>? SeenDirection { get; init; }
}
