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

    private static void Refused(string[] args, string words)
    {
        (int code, string text, string error) = Tool.Run(args);
        Assert.Equal((2, ""), (code, text));
        Assert.Contains(words, error, StringComparison.Ordinal);
        Assert.Single(error.TrimEnd().Split('\n'));
    }
}
