using System.Text.Json;

namespace Hourhinge.Tests.Host.App.Common.Supply;

/// <summary>The pack's hours, from the rig file's table [pack] and from options that replace its values. Expected
/// values by hand: mAh × label volts / volts × 0.8 / mA.</summary>
public sealed class PackHoursTests : IDisposable
{
    private readonly string _rig = Path.Combine(Path.GetTempPath(), $"pack-{Guid.NewGuid():N}.toml");

    public PackHoursTests() => File.WriteAllText(_rig, File.ReadAllText(Tool.Example("bent-m6-geared"))
        + "\n[pack]\nvolts = 5\nmah = 10000\nlabel_volts = 3.7\ncurrent_ma = 280\n");

    public void Dispose() => File.Delete(_rig);

    [Theory]
    [InlineData("rehearse RIG --minutes 1")]
    [InlineData("budget RIG --exposure 5")]
    [InlineData("night --rig RIG --target M31 --date 2026-10-12")]
    public void Each_command_knows_them_and_options_come_first(string line)
    {
        Assert.Equal(21.14, Hours(line), 0.005);
        Assert.Equal(10.57, Hours(line + " --pack-mah 5Ah"), 0.005);
        Assert.Equal(59.2, Hours(line + " --current-ma 0.1A"), 0.005);
        (int code, string text, string error) = Run(line);
        Assert.True(code < 2, error);
        Assert.Contains("lasts 21.1 h at 280 mA", text, StringComparison.Ordinal);
    }

    [Fact]
    public void Options_alone_are_enough_and_without_either_the_hours_are_null()
    {
        string rig = Tool.Example("bent-m6-geared");
        Assert.Equal(8, Hours($"budget {rig} --pack-mah 1000 --current-ma 100"), 1e-9);
        (_, string text, _) = Run($"budget {rig} --json");
        Assert.Equal(JsonValueKind.Null, JsonDocument.Parse(text).RootElement.GetProperty("pack_hours").ValueKind);
    }

    [Fact]
    public void A_night_says_when_the_pack_is_empty()
    {
        string night = "night --rig RIG --target M31 --date 2026-10-12 --pack-mah 1000";
        (int code, string text, string error) = Run(night + " --json");
        Assert.True(code == 0, error);
        JsonElement json = JsonDocument.Parse(text).RootElement;
        DateTime first = json.GetProperty("runs")[0].GetProperty("start_utc").GetDateTime();
        // 1000 × 3.7 / 5 × 0.8 / 280 = 2.114 h.
        Assert.Equal(2.114, (json.GetProperty("pack_empty_utc").GetDateTime() - first).TotalHours, 0.001);
        Assert.Contains($"The pack is empty at {first.AddHours(2.1143):HH:mm}.", Run(night).Out,
            StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("mah = 10000", "mah = 1", "pack.mah = 1: must be 50 to 1000000 mAh")]
    [InlineData("current_ma = 280", "", "pack.current_ma is missing: 0.1 to 100000 mA")]
    public void A_wrong_pack_is_named(string before, string after, string expected)
    {
        File.WriteAllText(_rig, File.ReadAllText(_rig).Replace(before, after, StringComparison.Ordinal));
        (int code, _, string error) = Run("rig check RIG");
        Assert.Equal(2, code);
        Assert.Contains(expected, error, StringComparison.Ordinal);
    }

    private double Hours(string line)
    {
        (int code, string text, string error) = Run(line + " --json");
        Assert.True(code < 2, error);
        return JsonDocument.Parse(text).RootElement.GetProperty("pack_hours").GetDouble();
    }

    private (int Code, string Out, string Error) Run(string line) =>
        Tool.Run(line.Replace("RIG", _rig, StringComparison.Ordinal).Split(' '));
}
