using System.Text.Json;
using Hourhinge.Tests.Host.Planning.Parts;
using Xunit.Abstractions;

namespace Hourhinge.Tests.Host.App.Design;

/// <summary>`hourhinge design`: from five boxes to rigs that check and rehearse; options, errors, questions.
/// HOURHINGE_DESIGN rehearses whole travels.</summary>
public sealed class DesignCommandTests(ITestOutputHelper output) : IDisposable
{
    private readonly string _folder = Directory.CreateTempSubdirectory("hourhinge-design-").FullName;

    private static bool IsCampaign => Environment.GetEnvironmentVariable("HOURHINGE_DESIGN") != null;

    public void Dispose() => Directory.Delete(_folder, recursive: true);

    [Theory]
    [InlineData("dotterel")]
    [InlineData("wheatear")]
    [InlineData("pipit")]
    [InlineData("sandpiper")]
    [InlineData("ouzel")]
    public void The_chosen_rig_checks_and_rehearses_within_a_pixel(string name)
    {
        string parts = Write(name, Boxes.Text(name));
        string rig = Path.Combine(_folder, name + "-rig.toml");
        (int code, string text, string error) = Tool.Run("design", parts, "--write", rig, "--json");
        Assert.True(code == 0, error);
        JsonElement first = JsonDocument.Parse(text).RootElement.GetProperty("builds")[0];
        Assert.Equal(0, Tool.Run("rig", "check", rig).Code);
        string minutes = IsCampaign ? "720" : "4";
        (code, text, error) = Tool.Run("rehearse", rig, "--minutes", minutes, "--pass", "10", "--json");
        Assert.True(code == 0, error + text);
        JsonElement rehearsal = JsonDocument.Parse(text).RootElement;
        double pixels = rehearsal.GetProperty("peak_arcsec").GetDouble()
            / rehearsal.GetProperty("arcsec_per_pixel").GetDouble();
        output.WriteLine($"{name}: {first.GetProperty("form")}, arm {first.GetProperty("arm_mm")}, "
            + $"{first.GetProperty("wheels")}, {first.GetProperty("microsteps")} microsteps: "
            + $"{rehearsal.GetProperty("tracked_min")} min, peak {pixels:0.000} px; predicted "
            + $"{first.GetProperty("error_px")}");
        Assert.InRange(pixels, 0, 1);
        Assert.InRange(pixels, 0, first.GetProperty("error_px").GetDouble());
    }

    [Fact]
    public void The_table_says_why_a_build_is_not_first()
    {
        string parts = Write("box", Boxes.Text("wheatear"));
        string page = Path.Combine(_folder, "page.html");
        (int code, string text, string error) = Tool.Run("design", parts, "--html", page, "--night");
        Assert.True(code == 0, error);
        Assert.Contains("Not first:", text, StringComparison.Ordinal);
        Assert.Contains("fingers", text, StringComparison.Ordinal);
        Assert.Contains("microsteps a nut turn", text, StringComparison.Ordinal);
        Assert.Contains("Not first", File.ReadAllText(page), StringComparison.Ordinal);
    }

    [Fact]
    public void Another_build_can_be_written_once()
    {
        string parts = Write("box", Boxes.Text("wheatear"));
        string rig = Path.Combine(_folder, "second.toml");
        Assert.Equal(0, Tool.Run("design", parts, "--write", rig, "--choose", "2").Code);
        string text = File.ReadAllText(rig);
        (int code, _, string error) = Tool.Run("design", parts, "--write", rig);
        Assert.Equal(2, code);
        Assert.Contains("exists already", error, StringComparison.Ordinal);
        Assert.Equal(text, File.ReadAllText(rig));
    }

    [Fact]
    public void What_cannot_be_met_is_one_sentence_and_exit_code_1()
    {
        string parts = Write("box", Boxes.Text("wheatear").Replace("travel_min = 60", "travel_min = 470",
            StringComparison.Ordinal));
        string rig = Path.Combine(_folder, "none.toml");
        (int code, string text, _) = Tool.Run("design", parts, "--write", rig);
        Assert.Equal(1, code);
        Assert.Contains("minutes of travel: it has", text.ReplaceLineEndings(" "), StringComparison.Ordinal);
        Assert.False(File.Exists(rig));
    }

    [Fact]
    public void A_wrong_value_is_exit_code_2()
    {
        string parts = Write("box", Boxes.Text("wheatear").Replace("mah = 10000", "mah = 1", StringComparison.Ordinal));
        (int code, _, string error) = Tool.Run("design", parts);
        Assert.Equal(2, code);
        Assert.Contains("pack.mah = 1: must be 50 to 1000000 mAh", error, StringComparison.Ordinal);
        (code, _, error) = Tool.Run("design", Path.Combine(_folder, "missing.toml"));
        Assert.Equal(2, code);
        Assert.Contains("there is no such file", error, StringComparison.Ordinal);
    }

    private string Write(string name, string text)
    {
        string file = Path.Combine(_folder, name + ".toml");
        File.WriteAllText(file, text);
        return file;
    }
}
