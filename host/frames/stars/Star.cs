// What is measured of one star, one streak, and one frame. Plain data.
namespace Hourhinge.Frames.Stars;

/// <summary>Cautions on a star's measurements.</summary>
[Flags]
public enum StarCautions
{
    /// <summary>No caution.</summary>
    None = 0,

    /// <summary>At least one pixel at the sensor's or file's upper limit.</summary>
    Saturated = 1,

    /// <summary>Another star inside the measuring window.</summary>
    Blended = 2,
}

/// <summary>A star-like source, measured by an adaptive Gaussian window.</summary>
/// <param name="X">Column of the centroid; pixel centres lie on whole numbers.</param>
/// <param name="Y">Row of the centroid.</param>
/// <param name="Flux">Sum above the background over the source's pixels, in the file's units.</param>
/// <param name="Peak">Highest pixel above the background.</param>
/// <param name="Snr">Signal to noise in the matched window.</param>
/// <param name="Cxx">Second moment along x, px² (variance of the equivalent Gaussian).</param>
/// <param name="Cyy">Second moment along y, px².</param>
/// <param name="Cxy">Mixed second moment, px².</param>
/// <param name="Cautions">Cautions.</param>
public readonly record struct Star(
    double X, double Y, double Flux, double Peak, double Snr, double Cxx, double Cyy, double Cxy, StarCautions Cautions)
{
    /// <summary>Height of the source in the smoothed frame over that frame's noise, measured in the same region: the
    /// detection's true number of sigmas, whatever the file's compression. 0 where it was not measured.</summary>
    public double Significance { get; init; }

    /// <summary>Light of the Gaussian that the window fits, file's units. Unlike <see cref="Flux"/> it does not shrink
    /// with the part of the star that stands above the threshold. 0 where it was not measured.</summary>
    public double FittedFlux { get; init; }

    /// <summary>Full width at half maximum of the round Gaussian of equal area, pixels.</summary>
    public double FwhmPx => 2.354820045 * Math.Pow(Math.Max((Cxx * Cyy) - (Cxy * Cxy), 0), 0.25);

    /// <summary>Major over minor axis, 1 or more.</summary>
    public double Elongation
    {
        get
        {
            double mean = (Cxx + Cyy) / 2, half = Math.Sqrt(Math.Pow((Cxx - Cyy) / 2, 2) + (Cxy * Cxy));
            return Math.Sqrt((mean + half) / Math.Max(mean - half, 1e-6));
        }
    }

    /// <summary>Direction of the major axis, radians from +x towards +y, in (-π/2, π/2].</summary>
    public double AngleRad => 0.5 * Math.Atan2(2 * Cxy, Cxx - Cyy);

    /// <summary>Expected error of the centroid along one axis, pixels, from the sky's noise alone: a matched window
    /// gives √2 times the width over signal to noise. The star's own photon noise comes on top, more so for bright
    /// stars.</summary>
    public double CentroidSigmaPx =>
        1.4142 * Math.Pow(Math.Max((Cxx * Cyy) - (Cxy * Cxy), 0.01), 0.25) / Math.Max(Snr, 1);
}

/// <summary>A straight streak: a star's trail with the drive stopped, an aircraft or a satellite.</summary>
/// <param name="X1">Column of one end (which end came first in time is not known).</param>
/// <param name="Y1">Row of that end.</param>
/// <param name="X2">Column of the other end.</param>
/// <param name="Y2">Row of the other end.</param>
/// <param name="SigmaPx">Width across, standard deviation in pixels.</param>
/// <param name="Flux">Sum above the background.</param>
/// <param name="EndSigmaPx">Expected error of each end along the streak, pixels.</param>
/// <param name="CutByEdge">True where it runs out of the frame.</param>
public readonly record struct Streak(
    double X1, double Y1, double X2, double Y2, double SigmaPx, double Flux, double EndSigmaPx, bool CutByEdge)
{
    /// <summary>End to end, pixels.</summary>
    public double LengthPx => Math.Sqrt(((X2 - X1) * (X2 - X1)) + ((Y2 - Y1) * (Y2 - Y1)));

    /// <summary>Direction, radians from +x towards +y, in (-π/2, π/2].</summary>
    public double AngleRad => Math.IEEERemainder(Math.Atan2(Y2 - Y1, X2 - X1), Math.PI);
}

/// <summary>Everything found in one frame.</summary>
/// <param name="Width">Columns.</param>
/// <param name="Height">Rows.</param>
/// <param name="Stars">Measured stars, brightest first; at most <see cref="FinderOptions.MaxStars"/>.</param>
/// <param name="StarCount">All star-like sources above the threshold, measured or not.</param>
/// <param name="Streaks">Elongated sources, longest first.</param>
/// <param name="BackgroundLevel">Median background, in the file's units.</param>
/// <param name="BackgroundNoise">Median noise of one pixel, same units.</param>
/// <param name="HotPixels">Single-pixel sources thrown out.</param>
/// <param name="TooMuch">True where the detection gave up: daylight, dew or a lit foreground fills the frame.</param>
public sealed record StarField(
    int Width, int Height, IReadOnlyList<Star> Stars, int StarCount, IReadOnlyList<Streak> Streaks,
    double BackgroundLevel, double BackgroundNoise, int HotPixels, bool TooMuch);

/// <summary>How the finder works. The defaults suit a camera lens and a few thousand stars.</summary>
/// <param name="ThresholdSigma">Detection threshold in units of the smoothed frame's noise.</param>
/// <param name="MaxStars">How many of the brightest stars are measured.</param>
/// <param name="MinPixels">Pixels above threshold that make a source.</param>
/// <param name="MinStreakPx">Elongated sources shorter than this are stars.</param>
public sealed record FinderOptions(
    double ThresholdSigma = 5, int MaxStars = 2000, int MinPixels = 3, double MinStreakPx = 10);
