using Hourhinge.App.Common;
using Hourhinge.App.Device;
using Hourhinge.Rig;

namespace Hourhinge.Tests.Host.App.Device;

/// <summary>`device edit`: keys and checks of the rig file, values on the controller.</summary>
public class EditTests
{
    [Theory]
    [InlineData("hinge.nut_arm_mm=246.4", "246.4")]
    [InlineData("hinge.nut_arm_mm = 9 11/16 in", "\"9 11/16 in\"")]
    [InlineData("rod.thread=M6", "\"M6\"")]
    [InlineData("gear.pairs=52/17,22/11", "[[52,17], [22,11]]")]
    [InlineData("switches.home=true", "true")]
    [InlineData("hinge.form=\"bent-rod\"", "\"bent-rod\"")]
    public void Values_become_TOML(string typed, string toml) => Assert.Equal(toml, DeviceEdit.Parse(typed).Value);

    [Theory]
    [InlineData("nut_arm=3")]
    [InlineData("hinge.nut_arm_mm")]
    [InlineData("=3")]
    [InlineData("camera.pixel_um=4")]
    [InlineData("hinge.nut_arm_mm=3\n[rod]")]
    [InlineData("hinge.nut_arm_mm=3 # x")]
    [InlineData("rod.thread=M6\"\"")]
    [InlineData("periodic[].amplitude_um=3")]
    [InlineData("periodic.4=1,2,3")]
    [InlineData("periodic.1=1,2000,3")]
    [InlineData("periodic.1=1,x,3")]
    public void What_is_no_key_or_no_value_is_rejected(string typed) =>
        Assert.ThrowsAny<Exception>(() => _ = PeriodicEdit.Parse(typed) == null && DeviceEdit.Parse(typed) is { } change
            ? RigEditor.PlanText("x", File.ReadAllText(Tool.Example("bent-m6-geared")), [change]) : null);

    [Fact]
    public void An_edit_gives_the_controller_the_drive_of_the_edited_file()
    {
        using ServedController served = Tool.Serve();
        string rig = Tool.Example("bent-m6-geared");
        string file = Path.Combine(Path.GetTempPath(), $"edited-{Guid.NewGuid():N}.toml");
        Assert.Equal(0, Tool.Run("upload", rig, "--to", served.Port).Code);
        (int code, _, string error) = Tool.Run("device", "edit", "hinge.nut_arm_mm=9 11/16 in",
            "gear.pairs=50/17", "motor.pull_in_steps_per_sec=650", "--write", file, "--to", served.Port);
        Assert.True(code == 0, error);
        Assert.Contains("nut_arm_mm = \"9 11/16 in\"", File.ReadAllText(file), StringComparison.Ordinal);
        // The controller compiled what the host compiles from the written file, up to name and digest.
        LoadedRig edited = LoadedRig.From(new FileInfo(file));
        Assert.Equal(246.0625, edited.Rig.Hinge is Hourhinge.SharedMath.Geometry.SwivelledRodHinge s ? s.NutArmMm : 0);
        byte[] held = Profile(served.Port);
        int digest = 12;
        Assert.Equal(edited.Drive.Bytes.Length, held.Length);
        Assert.Equal(edited.Drive.Bytes[(digest + 4)..^4], held[(digest + 4)..^4]);
        File.Delete(file);

        // Out of range and not fitting: the file's sentence, exit code 2, and the controller unchanged.
        (code, _, error) = Tool.Run("device", "edit", "hinge.nut_arm_mm=5", "--to", served.Port);
        Assert.Equal(2, code);
        Assert.Contains("hinge.nut_arm_mm = 5: must be 20 to 2000 mm", error, StringComparison.Ordinal);
        (code, _, error) = Tool.Run("device", "edit", "rod.longest_mm=1000", "--to", served.Port);
        Assert.Equal(2, code);
        Assert.Contains("rod.longest_mm", error, StringComparison.Ordinal);
        Assert.Equal(held, Profile(served.Port));
    }

    [Fact]
    public void An_inch_thread_is_the_same_for_host_and_controller()
    {
        using ServedController served = Tool.Serve();
        string rig = Tool.Example("bent-m6-geared");
        Assert.Equal(0, Tool.Run("upload", rig, "--to", served.Port).Code);
        foreach (string thread in new[] { "1/4-20", "5/16-18", "4-40" })
        {
            (int code, string output, string error) =
                Tool.Run("device", "edit", $"rod.thread={thread}", "--to", served.Port);
            Assert.True(code == 0, error);
            Assert.Contains(thread.Split('-')[1], output, StringComparison.Ordinal);
        }

        // The same once more: the old table without rows said "Changed".
        (int again, string same, _) = Tool.Run("device", "edit", "rod.thread=4-40", "--to", served.Port);
        Assert.Equal(0, again);
        Assert.StartsWith("Nothing changed: the controller held these values already.", same,
            StringComparison.Ordinal);
    }

    [Fact]
    public void At_an_unknown_position_no_minutes_are_told()
    {
        using ServedController served = Tool.Serve();
        Assert.Contains("unknown, like the position", Tool.Run("device", "status", "--to", served.Port).Out,
            StringComparison.Ordinal);
        Assert.Equal(0, Tool.Run("upload", Tool.Example("bent-m6-geared"), "--to", served.Port).Code);
        Assert.Equal(0, Tool.Run("device", "at-start", "--to", served.Port).Code);
        Assert.Contains("0.0 min into the travel, 103.1 min left",
            Tool.Run("device", "status", "--to", served.Port).Out, StringComparison.Ordinal);
    }

    private static byte[] Profile(string port)
    {
        using var link = Hourhinge.App.Link.ControllerLink.Open(port);
        return link.QueryBlock("PROFile:DATA?");
    }
}
