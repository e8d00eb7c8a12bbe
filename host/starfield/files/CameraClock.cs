// The time a camera writes into its files, which is not the time the shutter opened.

namespace Hourhinge.Starfield.Files;

/// <summary>
/// A camera's clock. Given: how far it is fast, seconds; whether stamps are rounded to whole seconds (then files carry
/// no fraction); its time zone, which Exif stamps are written in, -14 to 14 hours in whole minutes.
/// </summary>
public sealed record CameraClock(double FastBySeconds = 0, bool WholeSeconds = false, TimeSpan Zone = default)
{
    /// <summary>Time zone of Exif stamps.</summary>
    public TimeSpan Zone { get; } = Zone.Duration() <= TimeSpan.FromHours(14)
        && Zone.Ticks % TimeSpan.TicksPerMinute == 0
        ? Zone
        : throw new ArgumentOutOfRangeException(
            nameof(Zone), Zone,
            $"The camera's time zone is {Zone}; it must be whole minutes between -14:00 and 14:00.");

    /// <summary>The UTC that the camera believes it is, to the millisecond or the second.</summary>
    public DateTime Stamp(DateTime utc)
    {
        long grain = WholeSeconds ? TimeSpan.TicksPerSecond : TimeSpan.TicksPerMillisecond;
        long ticks = utc.Ticks + (long)Math.Round(FastBySeconds * TimeSpan.TicksPerSecond);
        return new DateTime((ticks + (grain / 2)) / grain * grain, DateTimeKind.Utc);
    }
}
