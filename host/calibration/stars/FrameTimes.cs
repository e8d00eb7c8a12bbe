// What the frames' times say against themselves: a clock without its zone, a clock by which it was day, an exposure
// that does not fit between two frames. Each is a reason not to trust the field's hour angle, or the periodic error.
using Hourhinge.Frames.Matching;
using Hourhinge.Numerics;
using Hourhinge.Rig;
using Hourhinge.Sky.Bodies;
using Hourhinge.Sky.Places;
using Hourhinge.Sky.Time;

namespace Hourhinge.Calibration.Stars;

/// <summary>Doubts about the times of a run's frames.</summary>
public static class FrameTimes
{
    // No camera shows a field of stars with the sun higher (common practice, no source: civil twilight ends at -6).
    private const double HighestSunDeg = -3;

    // Files round an exposure: 32 s is named 30.
    private const double SameExposure = 1.15;

    /// <summary>Reasons, each a sentence; none where nothing speaks against the times.</summary>
    /// <param name="run">Frames by time, one or more, with their times.</param>
    /// <param name="isZoneTold">Whether the user told the zone of the camera's clock.</param>
    /// <param name="site">Where they were taken.</param>
    /// <param name="isPlaceByClock">Whether the field's hour angle comes from the clock.</param>
    /// <param name="isExposureTold">Whether the user told the exposure, or it does not matter.</param>
    public static IEnumerable<string> Doubts(IReadOnlyList<AlignedFrame> run, bool isZoneTold, SiteData site,
        bool isPlaceByClock, bool isExposureTold)
    {
        if (isPlaceByClock && !isZoneTold && run.Any(f => !f.Info.ZoneKnown))
        {
            yield return "the files do not name the zone of the camera's clock, and an hour turns the direction of the "
                + "axis error by 15°: give --utc-offset (0 where the clock shows UTC).";
        }
        else if (isPlaceByClock && DaylightSun(run[0].Info.MidUtc!.Value,
            Site.FromDegrees(site.LatitudeDeg, site.LongitudeDeg, site.HeightM)) is { } sun)
        {
            yield return $"at {run[0].Info.MidUtc:yyyy-MM-dd HH:mm} UTC, when {run[0].Info.Name} was taken by its "
                + "file, "
                + $"the sun stood at altitude {sun.Degrees:0}°: the camera's clock, its zone (--utc-offset) or "
                + "[site] is wrong, "
                + "and with it the direction of the axis error.";
        }

        double[] exposures = [.. run.Select(f => f.Info.ExposureSeconds).OfType<double>()];
        if (!isExposureTold && exposures.Length > 0 && exposures.Max() > SameExposure * exposures.Min())
        {
            yield return $"the files name exposures of {exposures.Min():0.##} to {exposures.Max():0.##} s, and the "
                + "periodic error is fitted with one: keep the frames of one exposure in the folder.";
        }
        else if (!isExposureTold && Overlap(run) is { } every)
        {
            yield return $"the files name an exposure of {run[0].Info.ExposureSeconds:0.##} s, but a frame began every "
                + $"{every:0.##} s: one of the two is wrong, and with it the periodic error; give the true --exposure.";
        }
    }

    /// <summary>The sun's altitude where it is too high for photographs of stars; else null.</summary>
    public static Angle? DaylightSun(DateTime utc, Site site)
    {
        Angle sun = Sun.AltAz(Instant.FromUtc(new DateTimeOffset(utc, TimeSpan.Zero)), site).Altitude;
        return sun.Degrees > HighestSunDeg ? sun : null;
    }

    // Time between two frames' starts where it is shorter than the exposure by more than the stamps' resolution.
    private static double? Overlap(IReadOnlyList<AlignedFrame> run)
    {
        if (run.Count < 2 || run[0].Info.ExposureSeconds is not { } exposure)
        {
            return null;
        }

        double every = Median.Of(run.Skip(1).Zip(run,
            (later, earlier) => (later.Info.StartUtc!.Value - earlier.Info.StartUtc!.Value).TotalSeconds));
        return every + run[0].Info.StampResolutionSeconds < exposure ? every : null;
    }
}
