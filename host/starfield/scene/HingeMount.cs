// What is set up on the ground: site, hinge mount, lens and sensor. Plain values with their checks.
// How they move and what they see is in geometry/ and render/.

namespace Hourhinge.Starfield.Scenes;

/// <summary>The hinge's opening since the start. Given: seconds since the start. Returned: radians.</summary>
public delegate double HingeAngle(double tSeconds);

/// <summary>Where the tripod stands: geodetic latitude and east longitude in degrees.</summary>
public sealed record SimulatedSite(double LatitudeDeg, double LongitudeDeg = 0)
{
    /// <summary>Latitude, -89 to 89 degrees, north positive: at the pole itself azimuth has no meaning.</summary>
    public double LatitudeDeg { get; } = Check.Range(LatitudeDeg, -89, 89, "Latitude (degrees)");

    /// <summary>Longitude, -180 to 180 degrees, east positive.</summary>
    public double LongitudeDeg { get; } = Check.Range(LongitudeDeg, -180, 180, "Longitude (degrees)");
}

/// <summary>
/// The hinge: its true opening against time, and where its axis really points. A positive opening follows the sky.
/// Axis errors are from the true pole above the horizon: altitude too high is positive; azimuth too far clockwise
/// (north over east) is positive, counted as the turn of the tripod about the vertical, not as an arc on the sky.
/// </summary>
public sealed record HingeMount(
    HingeAngle AngleRad, double AxisAltitudeErrorArcmin = 0, double AxisAzimuthErrorArcmin = 0)
{
    /// <summary>Altitude error, -600 to 600 arcmin.</summary>
    public double AxisAltitudeErrorArcmin { get; } =
        Check.Range(AxisAltitudeErrorArcmin, -600, 600, "Axis altitude error (arcmin)");

    /// <summary>Azimuth error, -1200 to 1200 arcmin.</summary>
    public double AxisAzimuthErrorArcmin { get; } =
        Check.Range(AxisAzimuthErrorArcmin, -1200, 1200, "Axis azimuth error (arcmin)");

    /// <summary>A hinge whose drive is stopped.</summary>
    public static HingeMount Stopped { get; } = new(static _ => 0);
}

/// <summary>A lens. The true focal length makes the picture; the marked one goes into the file headers.</summary>
public sealed record Lens(double FocalLengthMm, double FNumber)
{
    /// <summary>True focal length, 4 to 3000 mm.</summary>
    public double FocalLengthMm { get; init; } = Check.Range(FocalLengthMm, 4, 3000, "Focal length (mm)");

    /// <summary>Focal length over entrance pupil diameter, 0.7 to 64.</summary>
    public double FNumber { get; init; } = Check.Range(FNumber, 0.7, 64, "f-number");

    /// <summary>What the barrel says, mm; null where it tells the truth.</summary>
    public double? MarkedFocalLengthMm { get; init; }

    /// <summary>What goes into file headers: the marked focal length, or the true one.</summary>
    public double StatedFocalLengthMm => MarkedFocalLengthMm ?? FocalLengthMm;

    /// <summary>Radial distortion r' = r (1 + K1 r^2 + K2 r^4), r as tangent of the angle off the axis.</summary>
    public double K1 { get; init; }

    /// <summary>See <see cref="K1"/>.</summary>
    public double K2 { get; init; }

    /// <summary>
    /// Blur of the lens itself on the sensor, FWHM of a Gaussian in micrometres; it adds to the seeing in quadrature.
    /// The default of 6 micrometres is common practice for a good lens stopped down a little, no source.
    /// </summary>
    public double SpotFwhmMicrometres { get; init; } = 6;

    /// <summary>Area of the entrance pupil, square centimetres.</summary>
    public double PupilAreaCm2 => Math.PI / 4 * Math.Pow(FocalLengthMm / FNumber / 10, 2);
}

/// <summary>A monochrome sensor. Signals in electrons, data numbers as the converter gives them.</summary>
public sealed record Sensor(int WidthPx, int HeightPx, double PixelPitchMicrometres)
{
    /// <summary>Columns, 8 to 20000.</summary>
    public int WidthPx { get; init; } = (int)Check.Range(WidthPx, 8, 20000, "Sensor width (px)");

    /// <summary>Rows, 8 to 20000.</summary>
    public int HeightPx { get; init; } = (int)Check.Range(HeightPx, 8, 20000, "Sensor height (px)");

    /// <summary>Distance of neighbouring pixel centres, 0.5 to 50 micrometres.</summary>
    public double PixelPitchMicrometres { get; init; } =
        Check.Range(PixelPitchMicrometres, 0.5, 50, "Pixel pitch (micrometres)");

    /// <summary>Electrons for one step of the converter.</summary>
    public double GainElectronsPerAdu { get; init; } = 2;

    /// <summary>Standard deviation of the read noise, electrons.</summary>
    public double ReadNoiseElectrons { get; init; } = 3;

    /// <summary>Electrons at which a pixel is full.</summary>
    public double FullWellElectrons { get; init; } = 30000;

    /// <summary>Bits of the converter, 8 to 16.</summary>
    public int BitDepth { get; init; } = 14;

    /// <summary>True to store the converter's bits at the top of 16 (12-bit data times 16), as some cameras
    /// do.</summary>
    public bool LeftAligned { get; init; }

    /// <summary>Offset that the camera adds, data numbers.</summary>
    public double BiasAdu { get; init; } = 256;

    /// <summary>Dark current, electrons per second in every pixel.</summary>
    public double DarkElectronsPerSec { get; init; } = 0.02;

    /// <summary>Share of pixels that are hot.</summary>
    public double HotPixelShare { get; init; } = 1e-5;

    /// <summary>Mean dark current of a hot pixel, electrons per second; the single ones spread exponentially.</summary>
    public double HotPixelMeanElectronsPerSec { get; init; } = 100;

    /// <summary>Electrons for a photon at the lens: quantum efficiency times glass, 0 to 1.</summary>
    public double Efficiency { get; init; } = 0.4;
}
