namespace Hourhinge.Recognition;

/// <summary>
/// Radial distortion of a lens: r' = r·(1 + K1·r² + K2·r⁴), where r is the tangent of the angle from the lens's axis
/// and r' the distance from it in focal lengths (<see cref="OpticalAxis"/>). Negative K1 is a barrel.
/// </summary>
/// <param name="K1">Cubic term.</param>
/// <param name="K2">Term of the fifth order.</param>
public readonly record struct LensDistortion(double K1, double K2)
{
    /// <summary>A lens without distortion.</summary>
    public static LensDistortion None => default;

    /// <summary>r' of r.</summary>
    /// <param name="r">Tangent of the angle from the axis, 0 or more.</param>
    public double Distort(double r) => r * (1 + (K1 * r * r) + (K2 * r * r * r * r));

    /// <summary>r of r', by Newton's method from r'.</summary>
    /// <param name="distorted">Distance from the axis in focal lengths, 0 or more.</param>
    /// <returns>NaN where the model does not rise up to there.</returns>
    public double Undistort(double distorted)
    {
        double r = distorted;
        for (int i = 0; i < 30; i++)
        {
            double slope = Slope(r);
            if (!(slope > MinSlope))
            {
                return double.NaN;
            }

            double step = (Distort(r) - distorted) / slope;
            r = Math.Max(r - step, 0);
            if (Math.Abs(step) < 1e-13 * (1 + r))
            {
                return RisesTo(r) ? r : double.NaN;
            }
        }

        return double.NaN;
    }

    /// <summary>Whether r' rises with r from 0 to the given r, so that the model can be inverted there.</summary>
    public bool RisesTo(double r)
    {
        // The slope is a parabola in r²: lowest at an end, or where its own slope vanishes.
        double lowest = K2 > 0 ? -3 * K1 / (10 * K2) : 0;
        return Slope(r) > MinSlope && (!(lowest > 0 && lowest < r * r) || Slope(Math.Sqrt(lowest)) > MinSlope);
    }

    private const double MinSlope = 0.05;

    private double Slope(double r) => 1 + (3 * K1 * r * r) + (5 * K2 * r * r * r * r);
}
