// What the board itself allows, whatever a profile says. Stored by BoardStore.cs, set by BoardCommands.cs.

using Hourhinge.SharedMath.Profile;

namespace Hourhinge.Firmware.Guards;

/// <summary>Fastest drive, longest travel, and the switches that are always read. The defaults limit nothing.</summary>
public sealed class BoardLimits
{
    /// <summary>Fastest speed that can be allowed, counts/s.</summary>
    public const int MaxRate = 100000;

    /// <summary>Fastest speed of the motor, counts/s.</summary>
    public int RateCountsPerSec = MaxRate;

    /// <summary>Longest travel, counts.</summary>
    public long TravelCounts = ProfileSafety.MaxCounts;

    /// <summary>True: the home switch is read even when the profile says that there is none.</summary>
    public bool HomeFitted;

    /// <summary>True: the end switch is read even when the profile says that there is none.</summary>
    public bool EndFitted;

    /// <summary>A copy.</summary>
    public BoardLimits Copy()
    {
        BoardLimits copy = new BoardLimits();
        copy.Set(this);
        return copy;
    }

    /// <summary>Becomes equal to other limits.</summary>
    public void Set(BoardLimits other)
    {
        RateCountsPerSec = other.RateCountsPerSec;
        TravelCounts = other.TravelCounts;
        HomeFitted = other.HomeFitted;
        EndFitted = other.EndFitted;
    }

    /// <summary>Adds the switches that are always read to a profile that is about to be used.</summary>
    public void Apply(DriveProfile profile)
    {
        profile.Flags |= (HomeFitted ? DriveProfile.HomeSwitchFitted : 0)
            | (EndFitted ? DriveProfile.EndSwitchFitted : 0);
    }

    /// <summary>Null when a profile keeps within these limits; otherwise which one it exceeds.</summary>
    public string Error(DriveProfile profile)
    {
        if (profile.PullInCountsPerSec > RateCountsPerSec || profile.RewindCountsPerSec > RateCountsPerSec
            || profile.ApproachCountsPerSec > RateCountsPerSec)
        {
            return "the profile drives faster than the board allows, " + RateCountsPerSec + " counts/s (BOARd:RATE)";
        }

        long end = new ProfileEvaluator(profile).EndQ16 >> DriveProfile.FractionBits;
        if (end > TravelCounts)
        {
            return "the profile's travel of " + end + " counts is longer than the board's, " + TravelCounts
                + " (BOARd:TRAVel)";
        }

        bool home = HomeFitted || profile.Has(DriveProfile.HomeSwitchFitted);
        return home && profile.HasLongBackOff(end)
            ? "eight back-offs of " + profile.BackOffCounts + " counts are longer than the travel, " + end
            : null;
    }
}
