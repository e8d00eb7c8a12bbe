using System.Text.Json;
using Hourhinge.Rig;
using Hourhinge.SharedMath.Compile;
using Hourhinge.SharedMath.Profile;
using Hourhinge.SharedMath.Rig;
using Hourhinge.Tests.Host.App;

namespace Hourhinge.Tests.Host.Rig;

/// <summary>Rig files with a DC motor: read, compiled, rehearsed.</summary>
public sealed class DcRigTests : IDisposable
{
    private readonly string _file = Path.Combine(Path.GetTempPath(), $"dc-{Guid.NewGuid():N}.toml");
    private readonly string _text = File.ReadAllText(Tool.Example("bent-m6-dc-encoder"));

    public void Dispose() => File.Delete(_file);

    [Fact]
    public void An_encoder_holds_the_sky_within_an_arcsecond()
    {
        (int code, string json, string error) =
            Tool.Run("rehearse", Tool.Example("bent-m6-dc-encoder"), "--minutes", "20", "--pass", "20", "--sag", "5",
                "--json");
        Assert.True(code == 0, error);
        JsonElement root = JsonDocument.Parse(json).RootElement;
        Assert.InRange(root.GetProperty("rms_arcsec").GetDouble(), 0.001, 1.0);
        Assert.InRange(root.GetProperty("peak_arcsec").GetDouble(), 0.001, 3.0);
        // Set 1 % fast, slowing by 5 % over the rehearsal: the mean of the counted time is below the sky's rate.
        Assert.InRange(root.GetProperty("constant_voltage_rate_error_percent").GetDouble(), -3, -1);
    }

    [Fact]
    public void A_motor_without_an_encoder_is_compiled_and_rehearsed_too()
    {
        File.WriteAllText(_file, string.Join('\n', _text.Replace("\"dc-encoder\"", "\"dc\"", StringComparison.Ordinal)
            .Split('\n').Where(l => !l.StartsWith("counts_per_turn", StringComparison.Ordinal))));
        Assert.Equal(0, Tool.Run("rig", "check", _file).Code);
        (_, string json, string error) = Tool.Run("rehearse", _file, "--minutes", "10", "--json");
        Assert.True(json.Length > 0, error);
        Assert.Equal("TRACKING", JsonDocument.Parse(json).RootElement.GetProperty("final_state").GetString());
    }

    [Theory]
    [InlineData("dc", "goes in jerks that nothing measures")]
    [InlineData("dc-encoder", "goes in jerks; measure lower duties")]
    public void A_motor_that_is_not_known_to_turn_as_slowly_as_the_sky_is_told(string kind, string expected)
    {
        File.WriteAllText(_file, string.Join('\n', _text
            .Replace("\"dc-encoder\"", $"\"{kind}\"", StringComparison.Ordinal)
            .Replace("[14.0, 0.32], ", "", StringComparison.Ordinal)
            .Split('\n').Where(l => kind != "dc" || !l.StartsWith("counts_per_turn", StringComparison.Ordinal))));
        (int code, string output, string error) = Tool.Run("rig", "check", _file);
        Assert.Equal(0, code);
        Assert.Contains("needs 1.076 to 1.076 nut turns a minute and the curve begins at 2.4", output + error,
            StringComparison.Ordinal);
        Assert.Contains(expected, output + error, StringComparison.Ordinal);
        Assert.DoesNotContain("jerks", Tool.Run("rig", "check", Tool.Example("bent-m6-dc-encoder")).Error,
            StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("[25.0, 2.4]", "[25.0, 20.2]", "motor.speed_curve")]
    [InlineData("least_volts = 4.2", "least_volts = 6.2", "motor.least_volts = 6.2: must be 1 to 5.2 V")]
    [InlineData("counts_per_turn = 12", "counts_per_turn = 0", "motor.counts_per_turn = 0: must be 1 to 100000")]
    public void A_wrong_motor_is_refused_by_key(string right, string wrong, string expected)
    {
        File.WriteAllText(_file, _text.Replace(right, wrong, StringComparison.Ordinal));
        (int code, _, string error) = Tool.Run("rig", "check", _file);
        Assert.Equal(2, code);
        Assert.Contains(expected, error, StringComparison.Ordinal);
    }

    // The speed curve is measured in nut turns: what the motor's shaft counts does not change it.
    [Theory]
    [InlineData("dc-encoder", RigParameters.GearDenominator, 19)]
    [InlineData("dc-encoder", RigParameters.Steps, 9)]
    [InlineData("dc", RigParameters.GearDenominator, 19)]
    [InlineData("dc", RigParameters.Steps, 9)]
    public void A_gear_corrected_at_the_site_does_not_change_the_nut_s_measured_speed(string kind, int key, long value)
    {
        string text = string.Join('\n', _text.Replace("\"dc-encoder\"", $"\"{kind}\"", StringComparison.Ordinal)
            .Split('\n').Where(l => kind != "dc" || !l.StartsWith("counts_per_turn", StringComparison.Ordinal)));
        DriveProfile before = RigDrive.Compile(RigReader.Read("dc.toml", text), 0).Profile;
        RigParameters edited = before.Rig.Copy();
        edited.Values[key] = key == RigParameters.Steps ? edited.Values[key] * value / 12 : value;
        var compiler = new RigCompiler();
        DriveProfile? after = compiler.Compile(edited, before);
        Assert.True(after != null, compiler.Error);
        Assert.NotEqual(NutTurnsPerCount(before), NutTurnsPerCount(after), 1e-9);
        for (int i = 0; i < before.Dc.CurveDuty.Length; i++)
        {
            double wanted = before.Dc.CurveMilliCountsPerSec[i] * NutTurnsPerCount(before);
            Assert.Equal(wanted, after.Dc.CurveMilliCountsPerSec[i] * NutTurnsPerCount(after), wanted * 1e-3);
        }
    }

    private static double NutTurnsPerCount(DriveProfile profile) => (double)profile.NutTurns / profile.Counts;
}
