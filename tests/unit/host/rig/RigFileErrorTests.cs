using Hourhinge.Rig;
using Hourhinge.Tests.Host.App;

namespace Hourhinge.Tests.Host.Rig;

/// <summary>Every wrong rig file is rejected with one sentence that names the key, the value, the range and the
/// place.</summary>
public class RigFileErrorTests
{
    private static readonly string _good = File.ReadAllText(Tool.Example("straight-quarter-twenty"));

    [Theory]
    [InlineData("nut_arm_mm = 290.3 ", "nut_arm = 290.3 ",
        "hinge.nut_arm_mm is missing: 20 to 2000 mm; nut_arm in line 6 is no key of this table.")]
    [InlineData("nut_arm_mm = 290.3 ", "Nut_Arm_mm = 290.3 ", "Nut_Arm_mm in line 6 is no key of this table.")]
    [InlineData("nut_arm_mm = 290.3 ", "nut_arm_mm = 0 ", ":6:1: hinge.nut_arm_mm = 0: must be 20 to 2000 mm")]
    [InlineData("nut_arm_mm = 290.3 ", "nut_arm_mm = \"290 kg\" ",
        "hinge.nut_arm_mm = \"290 kg\": must be a number (its unit may be mm, cm, um, in), 20 to 2000 mm")]
    [InlineData("anchor_arm_mm = 290.3", "anchor_arm_in = 11.43", "hinge.anchor_arm_mm is missing")]
    [InlineData("form = \"straight-rod\"", "form = \"curvy\"",
        "hinge.form = \"curvy\": must be one of \"straight-rod\", \"bent-rod\", \"fixed-rod\", "
        + "\"drive-tip-straight\", \"drive-tip-fixed\", \"camera-tip-straight\", \"camera-tip-fixed\"")]
    [InlineData("thread = \"1/4-20\"", "thread = \"1/4-21\"",
        "rod.thread = \"1/4-21\": no such thread in ISO 261 or ASME B1.1")]
    [InlineData("longest_mm = 150.0", "longest_mm = 600.0", "rod.longest_mm = 600.0: this linkage works from 0 to 5")]
    [InlineData("longest_mm = 150.0", "longest_mm = 20.5",
        "rod.longest_mm = 20.5: must be at least 1 mm more than rod.shortest_mm = 20")]
    [InlineData("pairs = [[60, 20]]", "pairs = [[60, 0]]",
        "gear.pairs = [[60, 0]]: every number must be 1 to 10000 teeth")]
    [InlineData("pairs = [[60, 20]]", "pairs = [[60, 20.5]]",
        "gear.pairs = [[60, 20.5]]: tooth counts must be whole numbers")]
    [InlineData("pairs = [[60, 20]]", "pairs = [60, 20]", "gear.pairs = [60, 20]: must be a list in square brackets")]
    [InlineData("microsteps = 16", "microsteps = 16.5", "motor.microsteps = 16.5: must be a whole number, 1 to 256")]
    [InlineData("pull_in_steps_per_sec = 800", "pull_in_steps_per_sec = 100",
        "motor.pull_in_steps_per_sec = 100: this drive needs up to 159.9 microsteps/s")]
    [InlineData("home = true", "home = \"yes\"", "switches.home = \"yes\": must be true or false")]
    [InlineData("[gear]", "[gears]", "table [gears] is unknown; known are [hinge], [rod], [gear]")]
    [InlineData("full_steps = 200", "full_steps = 200\nstall_current_a = 2",
        "motor.stall_current_a = 2: this key is unknown; this table knows kind, full_steps")]
    [InlineData("full_steps = 200", "full_steps = 200\nfull_steps = 200", "full_steps")]
    [InlineData("name = \"Heron\"", "name = \"\"", "name = \"\": must be 1 to 31 printable ASCII characters")]
    [InlineData("[camera]", "camera]", "not TOML")]
    [InlineData("[camera]", "[rate]\nfollow = \"refracted-stars\"\ndeclination_deg = -43\n\n[camera]",
        "rate.declination_deg = -43: at hour_angle_h = 0 and site.latitude_deg = 47.2 the target stands at -0.2°; ")]
    [InlineData("back_off_mm = 0.5", "back_off_mm = 20", "Heron: switches.back_off_mm = 20: a rewind may back off "
        + "eight times, further than the travel of 130 mm; it must be at most 16.24 mm.")]
    [InlineData("latitude_deg = 47.2", "latitude_deg = 97.2", "site.latitude_deg = 97.2: must be -90 to 90 degrees")]
    public void A_wrong_rig_file_gets_one_clear_sentence(string right, string wrong, string expected)
    {
        Assert.Contains(right, _good, StringComparison.Ordinal);
        string text = _good.Replace(right, wrong, StringComparison.Ordinal);
        RigFileException error =
            Assert.Throws<RigFileException>(() => RigDrive.Compile(RigReader.Read("heron.toml", text), 0));
        Assert.Contains(expected, error.Message, StringComparison.Ordinal);
        Assert.DoesNotContain('\n', error.Message);
    }

    [Fact]
    public void A_key_of_another_form_is_told_apart_from_a_misspelt_one()
    {
        string text =
            _good.Replace("nut_arm_mm = 290.3 ", "bend_radius_mm = 290\nnut_arm_mm = 290.3 ", StringComparison.Ordinal);
        RigFileException error = Assert.Throws<RigFileException>(() => RigReader.Read("heron.toml", text));
        Assert.Contains("hinge.bend_radius_mm = 290: this key does not belong to this kind of rig", error.Message,
            StringComparison.Ordinal);
    }

    [Fact]
    public void The_program_exits_with_2_and_writes_the_sentence_to_standard_error_only()
    {
        string file = Path.Combine(Path.GetTempPath(), $"rig-{Guid.NewGuid():N}.toml");
        File.WriteAllText(file, _good.Replace("nut_arm_mm = 290.3 ", "nut_arm_mm = 0 ", StringComparison.Ordinal));
        (int code, string output, string error) = Tool.Run("profile", file);
        Assert.Equal(2, code);
        Assert.Equal("", output);
        Assert.Equal($"hourhinge: {file}:6:1: hinge.nut_arm_mm = 0: must be 20 to 2000 mm.\n", error);
        File.Delete(file);
    }

    [Fact]
    public void A_word_where_a_number_belongs_is_told_without_names_of_types()
    {
        (int code, _, string error) = Tool.Run("rehearse", Tool.Example("bent-m6-geared"), "--tolerance", "wide");
        Assert.Equal(2, code);
        Assert.Equal(
            "hourhinge: --tolerance wide: must be a number, 0.001 to 100000 arcsec. See: hourhinge "
            + "rehearse --help\n", error);
    }

    [Fact]
    public void A_new_rig_file_passes_its_own_check_and_is_never_written_over()
    {
        string file = Path.Combine(Path.GetTempPath(), $"rig-{Guid.NewGuid():N}.toml");
        foreach (string form in RigTemplate.Forms)
        {
            File.Delete(file);
            Assert.Equal(0, Tool.Run("rig", "new", file, "--form", form).Code);
            Assert.Equal(0, Tool.Run("rig", "check", file).Code);
        }

        byte[] before = File.ReadAllBytes(file);
        (int code, _, string error) = Tool.Run("rig", "new", file);
        Assert.Equal(2, code);
        Assert.Contains("exists already", error, StringComparison.Ordinal);
        Assert.Equal(before, File.ReadAllBytes(file));
        File.Delete(file);
    }
}
