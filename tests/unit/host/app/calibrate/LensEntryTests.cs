using Hourhinge.App.Calibrate;
using Hourhinge.Rig;

namespace Hourhinge.Tests.Host.App.Calibrate;

/// <summary>A lens measured again: better, worse, contradictory; other entries and comments stay.</summary>
public sealed class LensEntryTests
{
    private const string Old = """

        [[lens]]
        marked_mm = 85
        focal_length_mm = 84.2

        [[lens]]   # the good one
        marked_mm = 50
        focal_length_mm = 49.9   # by hand
        sigma_mm = 0.01
        k1 = 0.02
        measured = "2026-05-01"

        """;

    private static readonly string _text = File.ReadAllText(Tool.Example("bent-m6-geared"));

    [Fact]
    public void A_lens_without_an_entry_gets_one_in_silence()
    {
        (LensEntry entry, RigDescription after) = Measure(_text, new LensData(50, 49.9, 0.02, -0.1) { SigmaMm = 0.01 });
        Assert.Empty(entry.Remarks);
        Assert.Equal(49.9, after.MeasuredLens(50)!.FocalLengthMm, 6);
        Assert.Equal(0.01, after.MeasuredLens(50)!.SigmaMm, 6);
    }

    [Fact]
    public void A_better_measurement_takes_the_place_of_the_entry_and_says_so()
    {
        (LensEntry entry, RigDescription after) =
            Measure(_text + Old, new LensData(50, 49.92, 0.031, -0.2) { SigmaMm = 0.004 });
        Assert.Equal(2, after.Lenses.Count);
        LensData lens = after.MeasuredLens(50)!;
        Assert.Equal((49.92, 0.004, 0.031, -0.2), (lens.FocalLengthMm, lens.SigmaMm, lens.K1, lens.K2));
        Assert.NotEqual("2026-05-01", lens.Measured);
        Assert.Equal(84.2, after.MeasuredLens(85)!.FocalLengthMm, 6);
        string remark = Assert.Single(entry.Remarks);
        Assert.Contains("takes the place of the one before (49.900 mm (± 0.020) in the rig file of 2026-05-01, "
            + "49.920 mm", remark, StringComparison.Ordinal);
    }

    [Fact]
    public void A_worse_measurement_leaves_the_entry_and_says_so()
    {
        (LensEntry entry, RigDescription after) =
            Measure(_text + Old, new LensData(50, 49.92, 0.031, -0.2) { SigmaMm = 0.05 });
        Assert.Empty(entry.Changes);
        Assert.Equal(49.9, after.MeasuredLens(50)!.FocalLengthMm, 6);
        Assert.Contains("the entry stays", Assert.Single(entry.Remarks), StringComparison.Ordinal);
    }

    [Theory]
    [InlineData(0.004, true)]
    [InlineData(0.05, false)]
    public void A_contradiction_is_told(double sigmaMm, bool replaced)
    {
        (LensEntry entry, RigDescription after) =
            Measure(_text + Old, new LensData(50, 51, 0.02, 0) { SigmaMm = sigmaMm });
        Assert.Contains("contradicts its entry", entry.Remarks[0], StringComparison.Ordinal);
        Assert.Equal(replaced ? 51 : 49.9, after.MeasuredLens(50)!.FocalLengthMm, 6);
    }

    /// <summary>An entry written by hand has no error: any measurement is better.</summary>
    [Fact]
    public void An_entry_without_an_error_is_replaced()
    {
        (LensEntry entry, RigDescription after) =
            Measure(_text + Old, new LensData(85, 84.3, 0.01, 0) { SigmaMm = 0.08 });
        Assert.Equal(84.3, after.MeasuredLens(85)!.FocalLengthMm, 6);
        Assert.Contains("takes the place", Assert.Single(entry.Remarks), StringComparison.Ordinal);
    }

    private static (LensEntry Entry, RigDescription After) Measure(string text, LensData lens)
    {
        var entry = LensEntry.Of(RigReader.Read("rig.toml", text), lens, 0.001, 0.01);
        string after = RigEditor.PlanText("rig.toml", text, entry.Changes).After;
        Assert.Contains(text.Contains("# the good one", StringComparison.Ordinal) ? "# the good one" : "", after,
            StringComparison.Ordinal);
        return (entry, RigReader.Read("rig.toml", after));
    }
}
