namespace Hourhinge.Recognition;

/// <summary>
/// Where the lens's axis meets the frame, in pixels right of and below the frame's centre. Distortion and projection
/// are symmetric about it. Sensor and lens are centred to some tenths of a millimetre (common practice, no source): on
/// a photograph of 24 mm, an axis left at the centre leaves 0.5 px a star instead of 0.2, and 0.02 in K1.
/// </summary>
/// <param name="X">Pixels to the right.</param>
/// <param name="Y">Pixels downwards.</param>
public readonly record struct OpticalAxis(double X, double Y)
{
    /// <summary>The axis at the frame's centre.</summary>
    public static OpticalAxis Centre => default;
}
