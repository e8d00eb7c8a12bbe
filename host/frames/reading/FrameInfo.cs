// What a frame's file says of itself: when, how long, through what; and the user's corrections to that.
// Here: the plain data. Not here: how it is read (ExifInfo, FitsReader).
namespace Hourhinge.Frames.Reading;

/// <summary>Facts about one frame, each absent where the file does not give it.</summary>
/// <param name="Name">File name without folder.</param>
/// <param name="StartUtc">Start of the exposure, UTC, already corrected by the overrides.</param>
/// <param name="StampResolutionSeconds">How finely the file's time is written: 1 for whole seconds.</param>
/// <param name="ExposureSeconds">Exposure in seconds.</param>
/// <param name="FocalLengthMm">Focal length in mm as the camera believes it.</param>
/// <param name="PixelSizeMicron">Pixel pitch in micrometres.</param>
public sealed record FrameInfo(
    string Name,
    DateTime? StartUtc,
    double StampResolutionSeconds,
    double? ExposureSeconds,
    double? FocalLengthMm,
    double? PixelSizeMicron)
{
    /// <summary>Sensor pixels along one side of a pixel of the image: 2 for a raw file's green at half size. The pixel
    /// size above is the sensor's.</summary>
    public int Binning { get; init; } = 1;

    /// <summary>What the pixels were taken from, for raw files; else empty.</summary>
    public string PixelsFrom { get; init; } = "";

    /// <summary>True where the file names the zone of its time, or a standard does.</summary>
    public bool ZoneKnown { get; init; }

    /// <summary>Focal length in 35 mm terms as the camera believes it, mm.</summary>
    public double? FocalLength35Mm { get; init; }

    /// <summary>The file's word on the pixel against the rig's, beyond 15 %: cameras round it, and programs that reduce
    /// a picture leave it.</summary>
    /// <param name="rigPixelMicron">Pixel pitch of the rig's camera, micrometres.</param>
    /// <returns>A sentence; null where they agree or the file does not say.</returns>
    public string? PixelDoubt(double rigPixelMicron) =>
        PixelSizeMicron is { } own && Math.Abs((own / rigPixelMicron) - 1) > 0.15
            ? $"its focal plane has pixels of {own:0.0#} micrometres where the rig has {rigPixelMicron:0.0#}: another "
                + "camera, or a picture that was reduced."
            : null;

    /// <summary>How the file asks viewers to turn the picture (Exif 2.32, tag 0x0112): 1 for as it is stored. Pixels
    /// are read as they are stored.</summary>
    public int Orientation { get; init; } = 1;

    /// <summary>Bounds of a focal length and of a pixel that are believed.</summary>
    internal const double LongestMm = 100_000, WidestMicron = 100;

    /// <summary>Whether a date is one of photographs: a clock without its battery tells others, and the sky is not
    /// computed for them.</summary>
    internal static bool IsDated(DateTime time) => time.Year is > 1972 and < 2100;

    /// <summary>A value of a file that is above 0 and below a bound; null otherwise: a lens without contacts is written
    /// as 0.</summary>
    internal static double? Positive(double? value, double below) => value > 0 && value < below ? value : null;

    /// <summary>An exposure as read or told.</summary>
    /// <exception cref="FrameReadException">Not above 0, or above a day.</exception>
    internal static double? CheckedExposure(double? seconds)
    {
        const double Longest = 86400;
        return seconds is null || (seconds > 0 && seconds <= Longest)
            ? seconds
            : throw new FrameReadException(
                $"the exposure is {seconds} s; it must be above 0"
                + (seconds > Longest ? $" and up to {Longest} s." : "."));
    }

    /// <summary>Middle of the exposure, UTC.</summary>
    public DateTime? MidUtc => StartUtc?.AddSeconds((ExposureSeconds ?? 0) / 2);
}

/// <summary>Corrections by the user, which win over the file.</summary>
/// <param name="ClockOffsetSeconds">Camera clock minus true UTC; taken off every time read.</param>
/// <param name="ExposureSeconds">True exposure (a camera's "30 s" is often 32 s; common practice, no source).</param>
/// <param name="ZoneOffset">Zone of the camera's clock, east positive, for files that do not name one.</param>
public sealed record FrameOverrides(
    double ClockOffsetSeconds = 0,
    double? ExposureSeconds = null,
    TimeSpan? ZoneOffset = null)
{
    /// <summary>No corrections.</summary>
    public static FrameOverrides None { get; } = new();
}

/// <summary>A frame read whole.</summary>
/// <param name="Image">The pixels; the owner of the frame disposes of it.</param>
/// <param name="Info">What the file says.</param>
public sealed record Frame(FrameImage Image, FrameInfo Info) : IDisposable
{
    /// <inheritdoc/>
    public void Dispose() => Image.Dispose();
}
