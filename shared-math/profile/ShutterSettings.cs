// A shutter program as it is stored with a profile. It is executed by firmware/logic/panel/ShutterProgram.cs.

namespace Hourhinge.SharedMath.Profile;

/// <summary>How many exposures, how long, how far apart. Integers only.</summary>
public sealed class ShutterSettings
{
    /// <summary>Largest number of exposures.</summary>
    public const int MaxFrames = 9999;

    /// <summary>Longest exposure and longest gap, ms (one hour).</summary>
    public const int MaxMs = 3600000;

    /// <summary>Shortest press of the shutter, ms.</summary>
    public const int MinExposureMs = 20;

    /// <summary>Largest dither, 1/1000 arcsec.</summary>
    public const int MaxDitherMilliarcsec = 60000;

    /// <summary>Exposures, 1 to 9999.</summary>
    public int Count = 1;

    /// <summary>Time that the shutter is held, ms.</summary>
    public int ExposureMs = 30000;

    /// <summary>Minimum time from the end of an exposure to the start of the next, ms.</summary>
    public int GapMs = 2000;

    /// <summary>Settling time of the drive before an exposure, ms: after the start and after a dither.</summary>
    public int SettleMs = 2000;

    /// <summary>Between two exposures the drive moves to a random offset of at most this, 1/1000 arcsec; 0 for
    /// none.</summary>
    public int DitherMilliarcsec;

    /// <summary>True to start with tracking.</summary>
    public bool StartsWithTracking;

    /// <summary>A copy.</summary>
    public ShutterSettings Copy()
    {
        ShutterSettings copy = new ShutterSettings();
        copy.Count = Count;
        copy.ExposureMs = ExposureMs;
        copy.GapMs = GapMs;
        copy.SettleMs = SettleMs;
        copy.DitherMilliarcsec = DitherMilliarcsec;
        copy.StartsWithTracking = StartsWithTracking;
        return copy;
    }

    /// <summary>True when every value equals the other's; false for null.</summary>
    public bool IsEqualTo(ShutterSettings other) => other != null && Count == other.Count
        && ExposureMs == other.ExposureMs && GapMs == other.GapMs && SettleMs == other.SettleMs
        && DitherMilliarcsec == other.DitherMilliarcsec && StartsWithTracking == other.StartsWithTracking;

    /// <summary>Null when every value is in its range; otherwise an error text.</summary>
    public string Check()
    {
        bool good = Count >= 1 && Count <= MaxFrames
            && ExposureMs >= MinExposureMs && ExposureMs <= MaxMs
            && GapMs >= 0 && GapMs <= MaxMs
            && SettleMs >= 0 && SettleMs <= MaxMs
            && DitherMilliarcsec >= 0 && DitherMilliarcsec <= MaxDitherMilliarcsec;
        return good ? null : "a shutter setting is out of range";
    }
}
