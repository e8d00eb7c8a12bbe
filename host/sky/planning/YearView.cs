// Which weeks of a year suit a target from a site, and the obstacle in the others.
using Hourhinge.Numerics;
using Hourhinge.Sky.Bodies;
using Hourhinge.Sky.Observing;
using Hourhinge.Sky.Places;
using Hourhinge.Sky.Time;

namespace Hourhinge.Sky.Planning;

/// <summary>Why a target cannot be photographed in a week.</summary>
public enum Obstacle
{
    None,

    /// <summary>It does not reach the altitude from this site in any season.</summary>
    NeverHighEnough,

    /// <summary>The sun does not go 18 degrees down.</summary>
    NoDarkness,

    /// <summary>It is high enough only by day or in twilight.</summary>
    UpOnlyInDaylight,

    /// <summary>Dark and high enough for a while, but with the moon up all that time.</summary>
    MoonAllTheTime,
}

/// <summary>One week, assessed by its fourth night.</summary>
/// <param name="Start">First evening of the week.</param>
/// <param name="DarkHours">Sun 18 degrees down.</param>
/// <param name="UsefulHours">Dark and the target high enough.</param>
/// <param name="MoonFreeHours">Useful and the moon below the horizon.</param>
/// <param name="MoonIlluminatedFraction">At local mean midnight.</param>
/// <param name="Obstacle">Why not.</param>
public readonly record struct WeekView(
    DateOnly Start, double DarkHours, double UsefulHours, double MoonFreeHours, double MoonIlluminatedFraction,
    Obstacle Obstacle);

/// <summary>The weeks of a year for a target.</summary>
public static class YearView
{
    private const int WeeksShown = 52;

    /// <summary>Assesses 52 weeks from a date on.</summary>
    /// <param name="target">What to photograph.</param>
    /// <param name="site">From where.</param>
    /// <param name="from">First evening.</param>
    /// <param name="altitude">High enough, seen with refraction.</param>
    /// <param name="air">Air at the site.</param>
    public static IReadOnlyList<WeekView> Of(
        CataloguePlace target, Site site, DateOnly from, Angle altitude, Air air)
    {
        var track = new TargetTrack(target, site, air);
        return Enumerable.Range(0, WeeksShown)
            .Select(week => Assess(track, site, from.AddDays(week * 7), altitude, air)).ToList();
    }

    /// <summary>The longest run of consecutive weeks, wrapping at the end of the year, with at least a share of the
    /// best week's hours.</summary>
    /// <returns>Index of the first week and how many; zero weeks where the target is never useful.</returns>
    public static (int First, int Count) Season(IReadOnlyList<WeekView> weeks, double shareOfBest = 0.5)
    {
        ArgumentNullException.ThrowIfNull(weeks);
        double best = weeks.Max(w => w.UsefulHours);
        if (best <= 0)
        {
            return (0, 0);
        }

        bool[] good = weeks.Select(w => w.UsefulHours >= best * shareOfBest).ToArray();
        if (good.All(g => g))
        {
            return (0, good.Length);
        }

        (int First, int Count) longest = (First: 0, Count: 0);
        for (int first = 0; first < good.Length; first++)
        {
            int count = 0;
            while (good[(first + count) % good.Length])
            {
                count++;
            }

            if (count > longest.Count)
            {
                longest = (first, count);
            }
        }

        return longest;
    }

    private static WeekView Assess(TargetTrack track, Site site, DateOnly start, Angle altitude, Air air)
    {
        var night = DarkHours.Of(site, start.AddDays(3));
        Instant midnight = night.Span.Start.PlusDays(0.5);
        double illuminated = Moon.Phase(midnight).IlluminatedFraction;
        Angle highest = track.MaxAltitude(midnight);
        if (highest + Refraction.FromTrue(highest, air) < altitude)
        {
            return new WeekView(start, night.Dark()?.Hours ?? 0, 0, 0, illuminated, Obstacle.NeverHighEnough);
        }

        if (night.Dark() is not { } dark)
        {
            return new WeekView(start, 0, 0, 0, illuminated, Obstacle.NoDarkness);
        }

        IReadOnlyList<TimeWindow> useful = track.Above(altitude, dark);
        double moonFree = night.DarkWithoutMoon()
            .SelectMany(free => useful.Select(u => u.Overlap(free)?.Hours ?? 0)).Sum();
        double usefulHours = useful.Sum(u => u.Hours);
        Obstacle obstacle = usefulHours <= 0 ? Obstacle.UpOnlyInDaylight
            : moonFree <= 0 ? Obstacle.MoonAllTheTime
            : Obstacle.None;
        return new WeekView(start, dark.Hours, usefulHours, moonFree, illuminated, obstacle);
    }
}
