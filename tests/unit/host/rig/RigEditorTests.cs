using Hourhinge.Rig;
using Hourhinge.Tests.Host.App;
using Hourhinge.Tests.Host.Calibration;

namespace Hourhinge.Tests.Host.Rig;

public sealed class RigEditorTests : IDisposable
{
    private readonly string _folder = Directory.CreateTempSubdirectory("rig-editor-").FullName;

    public void Dispose() => Directory.Delete(_folder, true);

    [Fact]
    public void Only_the_changed_value_and_its_note_differ()
    {
        string before = File.ReadAllText(Tool.Example("straight-quarter-twenty"));
        string after =
            Edit(before,
                new RigChange("hinge", "nut_arm_mm", "290.81", RigEditor.Provenance("0.12", "rod", "2026-11-25")));
        Assert.Equal(
            before.Replace(
                "nut_arm_mm = 290.3          # hinge axis to the pivot that carries the nut\n",
                "nut_arm_mm = 290.81          # hinge axis to the pivot that carries the nut  # ±0.12 (1 sigma), rod "
                + "calibration 2026-11-25; was 290.3\n",
                StringComparison.Ordinal),
            after);
    }

    [Theory]
    [InlineData("\n")]
    [InlineData("\r\n")]
    public void A_byte_order_mark_shifts_nothing(string newLine)
    {
        string before = File.ReadAllText(Tool.Example("straight-quarter-twenty"))
            .Replace("\n", newLine, StringComparison.Ordinal);
        foreach (RigChange change in new[]
        {
            new RigChange("hinge", "nut_arm_mm", "290.81"), new RigChange("gear", "pairs", "[[61, 20]]"),
            new RigChange("clock", "trim_ppm", "12"), new RigChange("rate", "correction_ppm", "3"),
        })
        {
            // ReadAllText takes the mark off.
            Assert.Equal(Edit(before, change), Edit("\uFEFF" + before, change));
            Assert.Equal([0xEF, 0xBB, 0xBF], File.ReadAllBytes(Path.Combine(_folder, "rig.toml"))[..3]);
        }
    }

    [Fact]
    public void A_read_only_rig_file_stays()
    {
        string file = Path.Combine(_folder, "protected.toml");
        File.Copy(Tool.Example("straight-quarter-twenty"), file);
        File.SetAttributes(file, FileAttributes.ReadOnly);
        try
        {
            RigEdit edit = RigEditor.Plan(file, [new RigChange("hinge", "nut_arm_mm", "290.81")]);
            Assert.Contains("the file is read-only", Assert.Throws<RigFileException>(edit.Save).Message,
                StringComparison.Ordinal);
            Assert.Equal(File.ReadAllText(Tool.Example("straight-quarter-twenty")), File.ReadAllText(file));
        }
        finally
        {
            File.SetAttributes(file, FileAttributes.Normal);
        }
    }

    [Fact]
    public void A_line_without_a_comment_gets_the_note_alone()
    {
        string before = Synthetic.Text("straight-quarter-twenty",
            ("nut_arm_mm = 290.3          # hinge axis to the pivot that carries the nut", "nut_arm_mm = 290.3"));
        string after =
            Edit(before,
                new RigChange("hinge", "nut_arm_mm", "290.81", RigEditor.Provenance("0.12", "rod", "2026-11-25")));
        Assert.Contains("\nnut_arm_mm = 290.81   # ±0.12 (1 sigma), rod calibration 2026-11-25; was 290.3\n", after,
            StringComparison.Ordinal);
    }

    [Fact]
    public void A_second_calibration_replaces_the_first_ones_note_and_never_the_makers()
    {
        string text = Synthetic.Text("straight-quarter-twenty",
            ("# hinge axis to the pivot that carries the nut", "# ±2 mm by ruler, see # 3"));
        text = Edit(text, new RigChange("hinge", "nut_arm_mm", "290.81",
            RigEditor.Provenance("0.12", "rod", "2026-11-25", ", mean of the arms")));
        text = Edit(text,
            new RigChange("hinge", "nut_arm_mm", "290.9", RigEditor.Provenance("0.1", "rod", "2026-11-26")));
        Assert.Contains(
            "\nnut_arm_mm = 290.9          # ±2 mm by ruler, see # 3  # ±0.1 (1 sigma), rod calibration 2026-11-26; "
            + "was 290.81\n", text, StringComparison.Ordinal);
        Assert.DoesNotContain("2026-11-25", text, StringComparison.Ordinal);
    }

    [Fact]
    public void Missing_keys_and_tables_are_added_where_they_belong()
    {
        string before = File.ReadAllText(Tool.Example("straight-quarter-twenty"));
        string after = Edit(
            before,
            new RigChange("gear", "correction_ppm", "-4950", RigEditor.Provenance("60", "turns", "2026-11-25")),
            new RigChange("clock", "trim_ppm", "12.5"),
            new RigChange("calibration", "date", "\"2026-11-25\""),
            new RigChange("calibration", "method", "\"turns\""));
        string expected = before
            .Replace("on the motor's wheel\n",
                "on the motor's wheel\ncorrection_ppm = -4950   # ±60 (1 sigma), turns calibration 2026-11-25; new\n",
                StringComparison.Ordinal)
            .Replace("back_off_mm = 0.5\n", "back_off_mm = 0.5\n\n[clock]\ntrim_ppm = 12.5\n", StringComparison.Ordinal)
            + "\n[calibration]\ndate = \"2026-11-25\"\nmethod = \"turns\"\n";
        Assert.Equal(expected, after);
        RigDescription rig = RigReader.Read("x", after);
        Assert.Equal(-4950, rig.Gear.CorrectionPpm);
        Assert.InRange(rig.MotorTurnsPerNutTurn.Ratio / 3, 1 - 4950e-6 - 5e-8, 1 - 4950e-6 + 5e-8);
        Assert.Equal("turns", rig.Calibration!.Method);
    }

    [Fact]
    public void A_comment_below_the_last_key_stays_with_its_table()
    {
        string before = Synthetic.Text("straight-quarter-twenty",
            ("back_off_mm = 0.5\n", "back_off_mm = 0.5\n# end = false while the switch is on order\n"));
        string after = Edit(before, new RigChange("clock", "trim_ppm", "1"));
        Assert.Contains(
            "back_off_mm = 0.5\n# end = false while the switch is on order\n\n[clock]\ntrim_ppm = 1\n\n[camera]\n",
            after, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("\r\n")]
    [InlineData("\n")]
    public void Line_ends_and_a_missing_last_line_end_are_kept(string end)
    {
        string before = File.ReadAllText(Tool.Example("straight-quarter-twenty")).TrimEnd('\n')
            .Replace("\n", end, StringComparison.Ordinal);
        string after = Edit(before, new RigChange("hinge", "nut_arm_mm", "290.81",
            RigEditor.Provenance("0.12", "rod", "2026-11-25")), new RigChange("calibration", "date", "\"2026-11-25\""));
        Assert.EndsWith($"height_m = 640{end}{end}[calibration]{end}date = \"2026-11-25\"{end}", after,
            StringComparison.Ordinal);
        Assert.Equal(after.Split('\n').Length - 1, after.Split(end).Length - 1);
        Assert.Contains($"was 290.3{end}", after, StringComparison.Ordinal);
    }

    [Fact]
    public void A_list_over_several_lines_is_replaced_whole_but_not_when_comments_would_be_lost()
    {
        string several =
            Synthetic.Text("straight-quarter-twenty", ("pairs = [[60, 20]] ", "pairs = [\n  [60, 20],\n] "));
        Assert.Contains(
            "\npairs = [[59, 20]]          # teeth on the nut's wheel, teeth on the motor's wheel  # exact by turns "
            + "calibration 2026-11-25; was [ [60, 20], ]\n",
            Edit(several,
                new RigChange("gear", "pairs", "[[59, 20]]", RigEditor.Provenance(null, "turns", "2026-11-25"))),
            StringComparison.Ordinal);
        string commented = Synthetic.Text("straight-quarter-twenty",
            ("pairs = [[60, 20]] ", "pairs = [\n  [60, 20], # from the old printer\n] "));
        RigFileException error =
            Assert.Throws<RigFileException>(() => Edit(commented, new RigChange("gear", "pairs", "[[59, 20]]")));
        Assert.Contains("Write by hand: pairs = [[59, 20]]", error.Message, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("nut_arm_mm", "0", "hinge.nut_arm_mm = 0: must be 20 to 2000 mm")]
    [InlineData("nut_arm_mm", "nonsense", "not TOML")]
    [InlineData("nut_arm_mm", "60", "rod.shortest_mm = 20.0: this linkage works from")]
    [InlineData("arm_mm", "60", "hinge.arm_mm = 60: this key is unknown")]
    public void What_the_reader_refuses_never_reaches_the_disk(string key, string value, string expected)
    {
        string file = Write(File.ReadAllText(Tool.Example("straight-quarter-twenty")));
        byte[] before = File.ReadAllBytes(file);
        RigFileException error =
            Assert.Throws<RigFileException>(() => RigEditor.Plan(file, [new RigChange("hinge", key, value)]).Save());
        Assert.Contains(expected, error.Message, StringComparison.Ordinal);
        Untouched(file, before);
    }

    [Fact]
    public void A_file_that_changed_meanwhile_or_grows_too_large_is_left_alone()
    {
        string text = File.ReadAllText(Tool.Example("straight-quarter-twenty"));
        string file = Write(text);
        RigEdit edit = RigEditor.Plan(file, [new RigChange("hinge", "nut_arm_mm", "290.81")]);
        File.AppendAllText(file, "# a thought of the maker's\n");
        byte[] before = File.ReadAllBytes(file);
        Assert.Contains("changed meanwhile", Assert.Throws<RigFileException>(edit.Save).Message,
            StringComparison.Ordinal);
        Untouched(file, before);

        file = Write(text + "# " + new string('x', RigReader.MaxFileBytes - text.Length - 10) + "\n");
        before = File.ReadAllBytes(file);
        RigChange change = new("calibration", "date", "\"2026-11-25\"");
        Assert.Contains("Shorten its comments",
            Assert.Throws<RigFileException>(() => RigEditor.Plan(file, [change])).Message, StringComparison.Ordinal);
        Untouched(file, before);
    }

    [Fact]
    public void A_link_is_followed_and_the_files_mode_is_kept()
    {
        string file = Write(File.ReadAllText(Tool.Example("straight-quarter-twenty")));
        string link = Path.Combine(_folder, "link.toml");
        File.CreateSymbolicLink(link, file);
        if (!OperatingSystem.IsWindows())
        {
            File.SetUnixFileMode(file, UnixFileMode.UserRead | UnixFileMode.UserWrite | UnixFileMode.GroupRead);
        }

        RigEditor.Plan(link, [new RigChange("hinge", "nut_arm_mm", "290.81")]).Save();
        Assert.NotNull(new FileInfo(link).LinkTarget);
        Assert.Contains("290.81", File.ReadAllText(file), StringComparison.Ordinal);
        if (!OperatingSystem.IsWindows())
        {
            Assert.Equal(UnixFileMode.UserRead | UnixFileMode.UserWrite | UnixFileMode.GroupRead,
                File.GetUnixFileMode(file));
        }
    }

    private string Edit(string text, params RigChange[] changes)
    {
        string file = Write(text);
        RigEditor.Plan(file, changes).Save();
        Assert.Equal([file], Directory.GetFiles(_folder, "*", new EnumerationOptions { AttributesToSkip = 0 }));
        return File.ReadAllText(file);
    }

    private string Write(string text)
    {
        string file = Path.Combine(_folder, "rig.toml");
        File.WriteAllText(file, text);
        return file;
    }

    private void Untouched(string file, byte[] before)
    {
        Assert.Equal(before, File.ReadAllBytes(file));
        Assert.Equal([file], Directory.GetFiles(_folder, "*", new EnumerationOptions { AttributesToSkip = 0 }));
    }
}
