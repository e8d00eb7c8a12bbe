using Hourhinge.Rig;
using Hourhinge.Tests.Host.App;

namespace Hourhinge.Tests.Host.Rig;

/// <summary>Lengths with units in a rig file. The inch is 25.4 mm exactly: international yard and pound agreement of
/// 1959.</summary>
public sealed class RigLengthTests : IDisposable
{
    private readonly string _file = Path.Combine(Path.GetTempPath(), $"inches-{Guid.NewGuid():N}.toml");
    private readonly string _text = File.ReadAllText(Tool.Example("straight-quarter-twenty"));

    public void Dispose() => File.Delete(_file);

    [Fact]
    public void A_rig_in_inches_is_the_rig_in_millimetres()
    {
        string inches = _text.Replace("nut_arm_mm = 290.3 ", "nut_arm_mm = \"11 7/16 in\"", StringComparison.Ordinal)
            .Replace("anchor_arm_mm = 290.3 ", "anchor_arm_mm = '11.4375\"'", StringComparison.Ordinal);
        string millimetres = _text.Replace("290.3", "290.5125", StringComparison.Ordinal);
        Assert.Equal(RigDrive.Compile(RigReader.Read("a.toml", millimetres), 0).Bytes,
            RigDrive.Compile(RigReader.Read("a.toml", inches), 0).Bytes);
    }

    // 25.4 mm by 8, 16 and 2; in micrometres too.
    [Theory]
    [InlineData("1/8in", "mm", 3.175)]
    [InlineData("9/16\"", "mm", 14.2875)]
    [InlineData("9/16\u2033", "mm", 14.2875)]
    [InlineData("1/2 in", "um", 12700)]
    public void A_fraction_needs_no_space_before_its_unit(string typed, string unit, double expected)
    {
        Assert.True(QuantityParser.TryParse(typed, unit, out double value, out string problem), problem);
        Assert.Equal(expected, value, 1e-9);
    }

    [Theory]
    [InlineData("\"11 7/16\"",
        "hinge.nut_arm_mm = \"11 7/16\": must be a number with a point; fractions are for inches")]
    [InlineData("\"11,4 in\"",
        "hinge.nut_arm_mm = \"11,4 in\": write decimals with a point")]
    [InlineData("\"1/4 in\"", "hinge.nut_arm_mm = \"1/4 in\": must be 20 to 2000 mm")]
    [InlineData("\"90 in\"", "hinge.nut_arm_mm = \"90 in\": must be 20 to 2000 mm")]
    public void A_wrong_length_is_named_with_its_range(string value, string words)
    {
        string wrong = _text.Replace("nut_arm_mm = 290.3 ", $"nut_arm_mm = {value} ", StringComparison.Ordinal);
        Assert.Contains(words, Assert.Throws<RigFileException>(() => RigReader.Read("a.toml", wrong)).Message,
            StringComparison.Ordinal);
    }

    [Fact]
    public void The_editor_changes_a_length_and_keeps_the_other_as_typed_with_all_comments()
    {
        string inches = _text.Replace("nut_arm_mm = 290.3 ", "nut_arm_mm = \"11 7/16 in\" ", StringComparison.Ordinal)
            .Replace("shortest_mm = 20.0 ", "shortest_mm = \"3/4 in\" ", StringComparison.Ordinal);
        File.WriteAllText(_file, inches);
        string comment = RigEditor.Provenance("0.05", "rod", "2026-11-25");
        RigEditor.Plan(_file, [new RigChange("hinge", "nut_arm_mm", "290.61", comment)]).Save();
        string after = File.ReadAllText(_file);
        Assert.Contains("shortest_mm = \"3/4 in\" ", after, StringComparison.Ordinal);
        Assert.Contains("nut_arm_mm = 290.61", after, StringComparison.Ordinal);
        Assert.Contains("# hinge axis to the pivot that carries the nut", after, StringComparison.Ordinal);
        Assert.Contains("was \"11 7/16 in\"", after, StringComparison.Ordinal);
    }
}
