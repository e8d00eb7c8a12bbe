// `hourhinge budget` and `hourhinge night` as a user meets them: exit codes, JSON fields, refusals.
using System.Text.Json;

namespace Hourhinge.Tests.Host.App;

public sealed class PlanningCommandTests
{
    [Fact]
    public void Budget_says_yes_to_a_short_exposure_and_no_to_a_long_one()
    {
        string[] ask =
            ["budget", Tool.Example("fixed-rod-offset"), "--lens", "135", "--dec", "-20", "--json", "--exposure"];
        Assert.Equal(0, Tool.Run([.. ask, "5"]).Code);
        (int code, string text, string error) = Tool.Run([.. ask, "240"]);
        Assert.True(code == 1, error);
        JsonElement json = JsonDocument.Parse(text).RootElement;
        Assert.Equal(240, json.GetProperty("exposure_s").GetDouble());
        Assert.Equal(9.0145, json.GetProperty("arcsec_per_pixel").GetDouble(), 3);
        JsonElement[] sources = [.. json.GetProperty("sources").EnumerateArray()];
        string[] keys = [.. sources.Select(s => s.GetProperty("key").GetString()!)];
        foreach (string key in new[] { "geometry", "periodic", "clock", "sag", "axis-drift", "field-rotation",
            "refraction", "refraction-corner", "step", "pixel", "diffraction", "seeing" })
        {
            Assert.Contains(key, keys);
        }

        Assert.Contains(json.GetProperty("dominant").GetString(), keys);
        Assert.All(sources, s =>
            Assert.Equal(s.GetProperty("blur_arcsec").GetDouble() / 9.0145, s.GetProperty("blur_px").GetDouble(), 2));
        double[] longest = [json.GetProperty("longest_s").GetDouble(), .. json.GetProperty("longest_after_mending")
            .EnumerateArray().Select(s => s.GetProperty("longest_s").GetDouble())];
        Assert.Equal(4, longest.Length);
        Assert.Equal(longest.Order(), longest);
        Assert.InRange(longest[0], 5, 240);
        foreach (string field in new[] { "tracking_blur_arcsec", "allowed_arcsec", "longest_untracked_s",
            "rule_of_500_s", "sky_limited_s", "frames_for_depth" })
        {
            Assert.True(json.GetProperty(field).GetDouble() > 0, field);
        }
    }

    [Fact]
    public void Night_has_frames_in_a_good_season_and_none_for_what_never_rises()
    {
        string[] ask = ["night", "--site", "47.2,12.6", "--date", "2026-10-12", "--json", "--target"];
        (int code, string text, string error) = Tool.Run([.. ask, "M31"]);
        Assert.True(code == 0, error);
        JsonElement json = JsonDocument.Parse(text).RootElement;
        Assert.True(json.GetProperty("frames").GetInt32() > 100);
        JsonElement[] runs = [.. json.GetProperty("runs").EnumerateArray()];
        Assert.Equal(json.GetProperty("frames").GetInt32(), runs.Sum(r => r.GetProperty("frames").GetInt32()));
        DateTime end = DateTime.MinValue;
        foreach (JsonElement run in runs)
        {
            // 60 minutes of travel where no rig is named, 8 minutes to rewind and frame again.
            Assert.True(run.GetProperty("start_utc").GetDateTime() >= end);
            Assert.InRange((run.GetProperty("end_utc").GetDateTime()
                - run.GetProperty("start_utc").GetDateTime()).TotalMinutes, 1, 60.1);
            end = run.GetProperty("end_utc").GetDateTime().AddMinutes(7.9);
        }

        foreach (string field in new[] { "target", "date", "dark_utc", "useful_utc", "moon_lit_fraction", "pole_star",
            "pole_star_distance_arcmin", "pole_star_clock_h", "track", "exposure_h" })
        {
            Assert.True(json.TryGetProperty(field, out _), field);
        }

        // Declination -75 never rises at 47 north.
        (code, text, _) = Tool.Run([.. ask, "80,-75"]);
        Assert.Equal(1, code);
        Assert.Equal(0, JsonDocument.Parse(text).RootElement.GetProperty("frames").GetInt32());
    }

    // Two in the morning by the sun, wherever that is now: the night that goes on, not the next one.
    [Fact]
    public void Without_a_date_it_is_the_night_that_goes_on()
    {
        DateTime utc = DateTime.UtcNow;
        double longitude = Math.IEEERemainder(15 * (2 - utc.TimeOfDay.TotalHours), 360);
        string expected = $"{utc.AddHours(longitude / 15).AddDays(-1):yyyy-MM-dd}";
        (_, string json, string error) = Tool.Run("night", "--pole", $"--site=10,{longitude:0.###}", "--json");
        Assert.True(json.Length > 0, error);
        Assert.Contains($"\"date\": \"{expected}\"", json, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("2026-11-27T02:00:00Z", -105, "2026-11-26")]
    [InlineData("2026-11-27T12:30:00Z", -105, "2026-11-26")]
    [InlineData("2026-11-27T13:30:00Z", -105, "2026-11-27")]
    [InlineData("2026-11-26T22:00:00Z", 175, "2026-11-27")]
    [InlineData("2026-11-26T16:00:00Z", 175, "2026-11-26")]
    public void A_night_has_the_date_of_its_evening(string utc, double longitude, string evening) =>
        Assert.Equal(evening, $"{Hourhinge.Sky.Planning.DarkHours.EveningAt(
            DateTimeOffset.Parse(utc, System.Globalization.CultureInfo.InvariantCulture), longitude):yyyy-MM-dd}");

    [Fact]
    public void The_year_has_52_weeks_and_a_season()
    {
        string[] ask = ["night", "--year", "--site", "47.2,12.6", "--date", "2026-10-12", "--json", "--target"];
        (int code, string text, string error) = Tool.Run([.. ask, "M31"]);
        Assert.True(code == 0, error);
        JsonElement json = JsonDocument.Parse(text).RootElement;
        JsonElement[] weeks = [.. json.GetProperty("weeks").EnumerateArray()];
        Assert.Equal(52, weeks.Length);
        Assert.All(weeks,
            w => Assert.InRange(w.GetProperty("useful_h").GetDouble(), 0, w.GetProperty("dark_h").GetDouble() + 0.01));
        Assert.True(json.GetProperty("season_weeks").GetInt32() > 0);
        (code, text, _) = Tool.Run([.. ask, "80,-75"]);
        Assert.Equal(1, code);
        Assert.Equal(0, JsonDocument.Parse(text).RootElement.GetProperty("season_weeks").GetInt32());
    }

    [Theory]
    [InlineData("--lens 2", "must be 4 to 3000 mm")]
    [InlineData("--dec 85", "must be 5° or more above the horizon")]
    [InlineData("--html page.pdf", "must end with .html")]
    [InlineData("--seeing-by-eye", "is not known here")]
    public void Budget_refuses_in_one_sentence(string options, string words) =>
        Refused(["budget", Tool.Example("fixed-rod-offset"), .. options.Split(' ')], words);

    [Theory]
    [InlineData("--target M999 --site 47,12", "not in the tables")]
    [InlineData("--target M31 --site 97,12", "-90 to 90")]
    [InlineData("--target M31 --site 47,12 --date 2026-13-01", "must be YYYY-MM-DD")]
    [InlineData("--target M31", "--site is missing")]
    [InlineData("--target M31 --site 47,12 --html page", "must end with .html")]
    public void Night_refuses_in_one_sentence(string options, string words) =>
    Refused(["night", .. options.Split(' ')], words);

    [Theory]
    [InlineData("Veil Nebula", "Sh2 103 Veil Nebula")]
    [InlineData("M 31", "M31 Andromeda Galaxy")]
    [InlineData("messier 31", "M31 Andromeda Galaxy")]
    [InlineData("NGC224", "M31 Andromeda Galaxy")]
    [InlineData("ngc 0224", "M31 Andromeda Galaxy")]
    [InlineData("Seven Sisters", "M45 Pleiades")]
    [InlineData("swan nebula", "M17 Omega Nebula")]
    [InlineData("alpha Lyrae", "Vega")]
    [InlineData("\u03b1 Lyr", "Vega")]
    public void Targets_have_the_names_that_people_type(string typed, string found)
    {
        (int code, string text, string error) = Tool.Run(
            ["night", "--site", "47,12", "--date", "2026-09-12", "--json", "--target", typed]);
        Assert.True(code is 0 or 1, error);
        Assert.Equal(found, JsonDocument.Parse(text).RootElement.GetProperty("target").GetString());
    }

    [Theory]
    [InlineData("Anromeda Galaxy", "Did you mean Andromeda Galaxy?")]
    [InlineData("Pliades", "Pleiades")]
    [InlineData("Betelguese", "Betelgeuse")]
    [InlineData("MGC 224", "NGC 224")]
    public void A_near_miss_is_suggested(string typed, string words) =>
        Refused(["night", "--site", "47,12", "--target", typed], words);

    // The example in the help is one that works.
    [Fact]
    public void The_helps_own_targets_are_in_the_tables()
    {
        string help = Tool.Run(["night", "--help"]).Out;
        foreach (string target in new[] { "M31", "Veil Nebula", "Vega" })
        {
            Assert.Contains(target, help, StringComparison.Ordinal);
            Assert.True(Tool.Run(["night", "--site", "47,12", "--date", "2026-09-12", "--target", target]).Code < 2);
        }
    }

    // sigma Octantis is 1.1 degrees from the pole, chi Octantis 2.4 (from memory).
    [Fact]
    public void A_southern_night_names_the_nearest_pole_star_and_the_moments_of_moon_and_transit()
    {
        (int code, string text, string error) = Tool.Run(
            ["night", "--site", "-33,20", "--date", "2026-06-12", "--json", "--target", "Omega Centauri"]);
        Assert.True(code == 0, error);
        JsonElement json = JsonDocument.Parse(text).RootElement;
        Assert.Equal("Polaris Australis", json.GetProperty("pole_star").GetString());
        Assert.InRange(json.GetProperty("pole_star_distance_arcmin").GetDouble(), 60, 75);
        // Declination -47.5 from latitude -33 culminates 14.5 degrees from the zenith.
        Assert.InRange(json.GetProperty("transit_altitude_deg").GetDouble(), 75, 76);
        DateTime transit = json.GetProperty("transit_utc").GetDateTime();
        foreach (JsonElement p in json.GetProperty("track").EnumerateArray())
        {
            // A sidereal hour is 0.99727 of an hour (IAU).
            double hours = (p.GetProperty("utc").GetDateTime() - transit).TotalHours / 0.99727;
            Assert.Equal(hours, p.GetProperty("hour_angle_h").GetDouble(), 0.01);
        }

        foreach (string field in new[] { "moonrise_utc", "moonset_utc" })
        {
            Assert.True(json.GetProperty(field).ValueKind is JsonValueKind.String or JsonValueKind.Null, field);
        }

        Assert.True(json.GetProperty("moonrise_utc").ValueKind == JsonValueKind.String
            || json.GetProperty("moonset_utc").ValueKind == JsonValueKind.String);
    }

    [Fact]
    public void Budget_states_the_typical_and_the_bound_and_where_to_begin()
    {
        (int _, string text, string error) = Tool.Run(
            ["budget", Tool.Example("fixed-rod-offset"), "--lens", "135", "--exposure", "240", "--json"]);
        Assert.Equal("", error);
        JsonElement json = JsonDocument.Parse(text).RootElement;
        Assert.True(json.GetProperty("longest_bound_s").GetDouble() < json.GetProperty("longest_s").GetDouble());
        Assert.True(json.GetProperty("tracking_blur_bound_arcsec").GetDouble()
            > json.GetProperty("tracking_blur_arcsec").GetDouble());
        Assert.Equal(json.GetProperty("longest_after_mending")[0].GetProperty("mended").GetString(),
            json.GetProperty("first").GetString());
    }

    private static void Refused(string[] args, string words)
    {
        (int code, string text, string error) = Tool.Run(args);
        Assert.Equal((2, ""), (code, text));
        Assert.Contains(words, error, StringComparison.Ordinal);
        Assert.Single(error.TrimEnd().Split('\n'));
    }
}
