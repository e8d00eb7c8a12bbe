using Hourhinge.SharedMath.Geometry;

namespace Hourhinge.Tests.SharedMath.Geometry;

public class ThreadTableTests
{
    // ISO 261:1998, table 2: coarse and fine pitches in mm. Values from memory.
    [Theory]
    [InlineData("M3", 0.5)]
    [InlineData("M3x0.35", 0.35)]
    [InlineData("M4", 0.7)]
    [InlineData("M4x0.5", 0.5)]
    [InlineData("M5", 0.8)]
    [InlineData("M6", 1.0)]
    [InlineData("M6x1", 1.0)]
    [InlineData("M6x0.75", 0.75)]
    [InlineData("M8", 1.25)]
    [InlineData("M8x1.25", 1.25)]
    [InlineData("M8x1", 1.0)]
    [InlineData("M10", 1.5)]
    [InlineData("M10x1.25", 1.25)]
    [InlineData("M10x1", 1.0)]
    public void Metric_pitch_is_that_of_ISO_261(string name, double pitchMm) =>
        Assert.Equal(pitchMm, ThreadTable.PitchMm(name), 12);

    // ASME B1.1, table 1: threads per inch of UNC and UNF. Values from memory; 8-32, 10-32 and 1/4-20 as design.md.
    [Theory]
    [InlineData("4-40", 40)]
    [InlineData("4-48", 48)]
    [InlineData("5-40", 40)]
    [InlineData("5-44", 44)]
    [InlineData("6-32", 32)]
    [InlineData("6-40", 40)]
    [InlineData("8-32", 32)]
    [InlineData("8-36", 36)]
    [InlineData("10-24", 24)]
    [InlineData("10-32", 32)]
    [InlineData("12-24", 24)]
    [InlineData("12-28", 28)]
    [InlineData("1/4-20", 20)]
    [InlineData("1/4-28", 28)]
    [InlineData("5/16-18", 18)]
    [InlineData("5/16-24", 24)]
    [InlineData("3/8-16", 16)]
    [InlineData("3/8-24", 24)]
    [InlineData("7/16-14", 14)]
    [InlineData("7/16-20", 20)]
    [InlineData("1/2-13", 13)]
    [InlineData("1/2-20", 20)]
    public void Inch_pitch_is_that_of_ASME_B1_1(string name, int threadsPerInch)
    {
        Assert.Equal(25.4 / threadsPerInch, ThreadTable.PitchMm(name), 12);
        Assert.Equal(25.4 / threadsPerInch,
            ThreadTable.PitchMm("#" + name + (threadsPerInch % 3 == 0 ? " UNC" : " UNF")), 12);
    }

    [Theory]
    [InlineData("m6 X 1")]
    [InlineData("M6×1")]
    [InlineData(" M6 ")]
    public void Case_spaces_and_the_times_sign_do_not_matter(string name) =>
        Assert.Equal(1.0, ThreadTable.PitchMm(name), 12);

    [Theory]
    [InlineData("")]
    [InlineData("M2")]
    [InlineData("M6x0.5")]
    [InlineData("1/4-32")]
    [InlineData("1/4")]
    [InlineData("unc")]
    [InlineData("six millimetres")]
    public void A_thread_that_the_standards_do_not_have_has_pitch_zero(string name) =>
        Assert.Equal(0, ThreadTable.PitchMm(name));

    [Fact]
    public void Every_name_in_the_list_is_known() =>
        Assert.All(ThreadTable.KnownDesignations().Split(' '),
            name => Assert.True(ThreadTable.PitchMm(name) > 0, name));

    // 1/4-20: 11.43 in, M6: 229 mm (common practice, no source); 8-32 from the IERS rate and the pitch.
    [Theory]
    [InlineData("1/4-20", 290.27)]
    [InlineData("M6", 228.56)]
    [InlineData("8-32", 181.42)]
    public void Rod_radius_for_one_nut_turn_a_minute(string thread, double radiusMm) =>
        Assert.Equal(radiusMm, ThreadTable.PitchMm(thread) / (SkyRate.SiderealRadPerSec * 60), 0.005);
}
