// The clock of the site: UTC to the time that a person reads there, daylight saving included.
// The zones come with NodaTime, so that they are the same on every system and need no culture data.

using NodaTime;
using NodaTime.TimeZones;

namespace Hourhinge.Rig;

/// <summary>Local time at a site. Immutable.</summary>
public sealed class SiteClock
{
    private readonly DateTimeZone _zone;

    private SiteClock(DateTimeZone zone) => _zone = zone;

    /// <summary>
    /// The clock of a fixed offset when one is given, otherwise of the site's time zone, otherwise UTC.
    /// </summary>
    public static SiteClock Of(SiteData? site, double? utcOffsetHours)
    {
        if (utcOffsetHours is { } hours)
        {
            return new SiteClock(DateTimeZone.ForOffset(Offset.FromSeconds((int)Math.Round(hours * 3600))));
        }

        return new SiteClock(string.IsNullOrEmpty(site?.TimeZone) ? DateTimeZone.Utc : Find(site.TimeZone)!);
    }

    /// <summary>The same moment with the offset of the site's clock.</summary>
    public DateTimeOffset Local(DateTimeOffset utc) =>
        Instant.FromDateTimeOffset(utc).InZone(_zone).ToDateTimeOffset();

    /// <summary>
    /// The zone's name for a span of time, such as "Europe/Madrid, CET (UTC+1)". Names both parts when the clock
    /// changes within the span.
    /// </summary>
    public string Name(DateTimeOffset from, DateTimeOffset to)
    {
        if (_zone == DateTimeZone.Utc)
        {
            return "UTC";
        }

        ZoneInterval first = _zone.GetZoneInterval(Instant.FromDateTimeOffset(from));
        ZoneInterval last = _zone.GetZoneInterval(Instant.FromDateTimeOffset(to));
        if (_zone is not { Id: { } id } || id.StartsWith("UTC", StringComparison.Ordinal))
        {
            return Hours(first);
        }

        string name = $"{id}, {Abbreviation(first)}";
        return first.WallOffset == last.WallOffset
            ? name
            : $"{name} until {first.IsoLocalEnd.Hour:00}:{first.IsoLocalEnd.Minute:00}, then {Abbreviation(last)}";
    }

    /// <summary>Null when the name is a zone of the IANA database; otherwise what is wrong.</summary>
    public static string? Check(string name)
    {
        if (Find(name) != null)
        {
            return null;
        }

        string? near = DateTimeZoneProviders.Tzdb.Ids
            .Where(id => Simple(id) == Simple(name)
                || Simple(id).EndsWith("/" + Simple(name), StringComparison.Ordinal))
            .Order(StringComparer.Ordinal).FirstOrDefault();
        return "must be a time zone of the IANA database, "
            + (near == null ? "such as \"Europe/Madrid\" or \"America/Denver\"" : $"perhaps \"{near}\"");
    }

    private static DateTimeZone? Find(string name) => DateTimeZoneProviders.Tzdb.GetZoneOrNull(name);

    private static string Simple(string name) =>
        name.Replace(' ', '_').Replace('-', '_').ToUpperInvariant();

    // Zones without a spoken abbreviation have their offset as a name in the database.
    private static string Abbreviation(ZoneInterval interval) =>
        char.IsLetter(interval.Name[0]) ? $"{interval.Name} ({Hours(interval)})" : Hours(interval);

    private static string Hours(ZoneInterval interval)
    {
        TimeSpan offset = interval.WallOffset.ToTimeSpan();
        string sign = offset < TimeSpan.Zero ? "-" : "+";
        return offset == TimeSpan.Zero ? "UTC"
            : $"UTC{sign}{Math.Abs(offset.Hours)}" + (offset.Minutes == 0 ? "" : $":{Math.Abs(offset.Minutes):00}");
    }
}
