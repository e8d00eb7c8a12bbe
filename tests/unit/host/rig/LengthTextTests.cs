using Hourhinge.Rig;
using Hourhinge.Tests.Host.App;

namespace Hourhinge.Tests.Host.Rig;

/// <summary>Lengths with units. The inch is 25.4 mm exactly: international yard and pound agreement of 1959.</summary>
public sealed class LengthTextTests : IDisposable
{
    private readonly string _file = Path.Combine(Path.GetTempPath(), $"inches-{Guid.NewGuid():N}.toml");
    private readonly string _text = File.ReadAllText(Tool.Example("straight-quarter-twenty"));

    public void Dispose() => File.Delete(_file);

    [Theory]
    [InlineData("9 1/16 in", 230.1875)]
    [InlineData("9-1/16 in", 230.1875)]
    [InlineData("9.0625 in", 230.1875)]
    [InlineData("9 1/16\"", 230.1875)]
    [InlineData("9 1/16″", 230.1875)]
    [InlineData("1/2 inch", 12.7)]
    [InlineData("1/3 in", 25.4 / 3)]
    [InlineData("11 inches", 279.4)]
    [InlineData("230.2 mm", 230.2)]
    [InlineData("230.2mm", 230.2)]
    [InlineData("-1/8 in", -3.175)]
    public void A_length_is_read_exactly(string text, double mm) => Assert.Equal(mm, LengthText.ParseMm(text));

    [Theory]
    [InlineData("9 1/16")]
    [InlineData("230,2 mm")]
    [InlineData("9 1/0 in")]
    [InlineData("9.5 1/2 in")]
    [InlineData("9 1/16 ft")]
    [InlineData("9 in 3")]
    [InlineData("1e3 mm")]
    [InlineData("١ in")]
    [InlineData("")]
    public void Anything_else_is_no_length(string text) => Assert.Null(LengthText.ParseMm(text));

    [Fact]
    public void Every_sixteenth_of_an_inch_to_a_yard_is_the_nearest_number()
    {
        for (int n = 1; n <= 36 * 16; n++)
        {
            Assert.Equal((double)(n * 254m / 160m), LengthText.ParseMm($"{n / 16} {n % 16}/16 in"));
        }
    }

    [Fact]
    public void A_rig_in_inches_is_the_rig_in_millimetres()
    {
        string inches = _text.Replace("nut_arm_mm = 290.3 ", "nut_arm_mm = \"11 7/16 in\"", StringComparison.Ordinal)
            .Replace("anchor_arm_mm = 290.3 ", "anchor_arm_mm = '11.4375\"'", StringComparison.Ordinal);
        string millimetres = _text.Replace("290.3", "290.5125", StringComparison.Ordinal);
        Assert.Equal(RigDrive.Compile(RigReader.Read("a.toml", millimetres), 0).Bytes,
            RigDrive.Compile(RigReader.Read("a.toml", inches), 0).Bytes);
    }

    [Theory]
    [InlineData("\"11 7/16\"",
        "hinge.nut_arm_mm = \"11 7/16\": must be 20 to 2000 mm, as a number or a length such as")]
    [InlineData("\"11,4 in\"",
        "hinge.nut_arm_mm = \"11,4 in\": must be 20 to 2000 mm, as a number or a length such as")]
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
