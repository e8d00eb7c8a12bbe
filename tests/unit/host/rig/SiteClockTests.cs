using Hourhinge.Rig;
using Hourhinge.Tests.Host.App;

namespace Hourhinge.Tests.Host.Rig;

/// <summary>
/// Local times. Changes of the clock by EU directive 2000/84/EC: last Sunday of March and October at 01:00 UTC; in the
/// USA by the Energy Policy Act of 2005: second Sunday of March and first of November at 02:00 local time.
/// </summary>
public class SiteClockTests
{
    [Theory]
    [InlineData("Europe/Madrid", "2026-10-25T00:59:59Z", "2026-10-25T02:59:59+02:00")]
    [InlineData("Europe/Madrid", "2026-10-25T01:00:00Z", "2026-10-25T02:00:00+01:00")]
    [InlineData("Europe/Madrid", "2026-03-29T00:59:59Z", "2026-03-29T01:59:59+01:00")]
    [InlineData("Europe/Madrid", "2026-03-29T01:00:00Z", "2026-03-29T03:00:00+02:00")]
    [InlineData("America/Denver", "2026-11-01T07:59:59Z", "2026-11-01T01:59:59-06:00")]
    [InlineData("America/Denver", "2026-11-01T08:00:00Z", "2026-11-01T01:00:00-07:00")]
    [InlineData("Asia/Kathmandu", "2026-06-01T00:00:00Z", "2026-06-01T05:45:00+05:45")]
    [InlineData("", "2026-06-01T00:00:00Z", "2026-06-01T00:00:00+00:00")]
    public void Local_time_follows_daylight_saving(string zone, string utc, string local) =>
        Assert.Equal(local, $"{Clock(zone).Local(Parse(utc)):yyyy-MM-ddTHH:mm:sszzz}");

    [Theory]
    [InlineData("Europe/Madrid", "2026-07-01T20:00:00Z", "Europe/Madrid, CEST (UTC+2)")]
    [InlineData("Europe/Madrid", "2026-10-24T20:00:00Z", "Europe/Madrid, CEST (UTC+2) until 03:00, then CET (UTC+1)")]
    [InlineData("America/Denver", "2026-12-01T03:00:00Z", "America/Denver, MST (UTC-7)")]
    [InlineData("Asia/Kathmandu", "2026-12-01T03:00:00Z", "Asia/Kathmandu, UTC+5:45")]
    [InlineData("", "2026-12-01T03:00:00Z", "UTC")]
    public void The_zone_is_named(string zone, string from, string name) =>
        Assert.Equal(name, Clock(zone).Name(Parse(from), Parse(from).AddHours(9)));

    [Fact]
    public void A_given_offset_wins()
    {
        SiteData site = new("", 40, -3, 0) { TimeZone = "Europe/Madrid" };
        SiteClock clock = SiteClock.Of(site, -3.5);
        DateTimeOffset at = Parse("2026-07-01T20:00:00Z");
        Assert.Equal("16:30", $"{clock.Local(at):HH:mm}");
        Assert.Equal("UTC-3:30", clock.Name(at, at));
        Assert.Equal("UTC", SiteClock.Of(site, 0).Name(at, at));
    }

    [Fact]
    public void A_wrong_zone_is_refused_with_a_suggestion()
    {
        string text = File.ReadAllText(Tool.Example("bent-m6-geared"));
        RigFileException error = Assert.Throws<RigFileException>(() =>
            RigReader.Read("a.toml", text + "time_zone = \"madrid\"\n"));
        Assert.Contains("site.time_zone = \"madrid\": must be a time zone of the IANA database, perhaps "
            + "\"Europe/Madrid\"", error.Message, StringComparison.Ordinal);
    }

    /// <summary>The night on which the clock goes back, through the program.</summary>
    [Fact]
    public void Night_shows_the_sites_time_and_JSON_stays_UTC()
    {
        string rig = Path.Combine(Path.GetTempPath(), $"zone-{Guid.NewGuid():N}.toml");
        File.WriteAllText(rig,
            File.ReadAllText(Tool.Example("bent-m6-geared")) + "time_zone = \"Europe/Madrid\"\n");
        try
        {
            string[] ask = ["night", "--target", "M31", "--rig", rig, "--date", "2026-10-24"];
            string local = Tool.Run(ask).Out;
            string offset = Tool.Run([.. ask, "--utc-offset", "2"]).Out;
            string json = Tool.Run([.. ask, "--json"]).Out;
            Assert.Contains("Europe/Madrid", local, StringComparison.Ordinal);
            Assert.All(local.Split('\n'), l => Assert.True(l.TrimEnd().Length <= 80, l));
            Assert.DoesNotContain("Madrid", offset, StringComparison.Ordinal);
            Assert.Contains("(UTC+2)", offset, StringComparison.Ordinal);
            using System.Text.Json.JsonDocument parsed = System.Text.Json.JsonDocument.Parse(json);
            DateTimeOffset[] dark = [.. parsed.RootElement.GetProperty("dark_utc").GetString()!.Split('/')
                .Select(Parse)];
            // Summer time in the evening, standard time in the morning.
            Assert.Contains($"{dark[0].AddHours(2):HH:mm} to {dark[1].AddHours(1):HH:mm}", local,
                StringComparison.Ordinal);
            Assert.Contains($"{dark[0].AddHours(2):HH:mm} to {dark[1].AddHours(2):HH:mm}", offset,
                StringComparison.Ordinal);
        }
        finally
        {
            File.Delete(rig);
        }
    }

    private static SiteClock Clock(string zone) => SiteClock.Of(new SiteData("", 0, 0, 0) { TimeZone = zone }, null);

    private static DateTimeOffset Parse(string text) =>
        DateTimeOffset.Parse(text, System.Globalization.CultureInfo.InvariantCulture);
}
