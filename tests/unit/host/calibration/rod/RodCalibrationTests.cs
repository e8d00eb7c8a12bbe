using Hourhinge.Calibration.Readings;
using Hourhinge.Calibration.Rod;
using Hourhinge.Calibration.Turns;
using Hourhinge.Rehearsal.Mechanisms;
using Hourhinge.Rig;
using Hourhinge.SharedMath.Geometry;
using Xunit.Abstractions;

namespace Hourhinge.Tests.Host.Calibration.Rod;

public class RodCalibrationTests(ITestOutputHelper output)
{
    [Fact]
    public void Without_noise_every_constant_comes_back()
    {
        RigDescription rig = Synthetic.Rig("straight-quarter-twenty",
            ("nut_arm_mm = 290.3 ", "nut_arm_mm = 200.0 "), ("longest_mm = 150.0", "longest_mm = 300.0"),
            ("shortest_mm = 20.0", "shortest_mm = 115.0"));
        RodResult r = RodCalibration.Fit(rig, Synthetic.Rod(new SwivelledLinkage(202.5, 288.1, 0),
            Synthetic.Spread(118, 300, 12), 0.4, 0, new Random(1), 0.05), 0.05);
        var hinge = (SwivelledRodHinge)r.Hinge;
        Assert.Equal(202.5, hinge.NutArmMm, 5);
        Assert.Equal(288.1, hinge.AnchorArmMm, 5);
        Assert.Equal(0.4, AngleUnits.ToDeg(r.Estimates[2].Value), 6);
    }

    // Computed apart, by the law of cosines in numpy: tests/reference/rod_gains.py.
    [Fact]
    public void The_gains_over_a_ruler_are_those_of_an_independent_Jacobian()
    {
        RigDescription rig = Synthetic.Rig("straight-quarter-twenty");
        string data = File.ReadAllText(
            Path.Combine(App.Tool.Root, "host", "examples", "data", "heron-rod.csv"));
        RodResult r = RodCalibration.Fit(rig, RodReading.Read("heron-rod.csv", data, 0.1, 0.2), 0.1);
        Assert.Equal(176.2142, r.SingularValues[0], 0.01);
        Assert.Equal(8.91233, r.SingularValues[1], 0.001);
        Assert.Equal(0, r.SingularValues[2], 1e-3);
        Assert.Equal(291.62938, r.Estimates[0].Value, 1e-4);
    }

    [Fact]
    public void A_narrow_range_cannot_tell_the_arms_apart_and_says_so()
    {
        RigDescription rig = Synthetic.Rig("straight-quarter-twenty", ("nut_arm_mm = 290.3 ", "nut_arm_mm = 260.0 "),
            ("shortest_mm = 20.0", "shortest_mm = 50.0"));
        RodResult r = RodCalibration.Fit(rig, Synthetic.Rod(new SwivelledLinkage(262, 292, 0),
            Synthetic.Spread(120, 150, 12), 0.2, 0.03, new Random(2), 0.03), 0.02);
        foreach (string sentence in r.Undetermined)
        {
            output.WriteLine(sentence);
        }

        output.WriteLine(string.Join(' ',
            r.SingularValues.Select(s => s.ToString("F2", System.Globalization.CultureInfo.InvariantCulture))));
        Assert.True(r.Estimates[1].IsHeld);
        Assert.Equal(260 - 290.3, r.Estimates[1].Value, 9);
        Assert.Contains(r.Undetermined, s => s.StartsWith("The readings cannot tell the nut arm from the anchor arm",
            StringComparison.Ordinal) && s.Contains("held at the rig file's -30.3 mm", StringComparison.Ordinal));
    }

    [Fact]
    public void A_fixed_rod_over_a_narrow_range_mixes_offset_and_reading_zero()
    {
        RigDescription rig = Synthetic.Rig("fixed-rod-offset");
        RodResult r = RodCalibration.Fit(rig, Synthetic.Rod(new TipLinkage(231, 4.9, 3), Synthetic.Spread(5, 90, 16),
            0.3, 0.02, new Random(3), 0.02), 0.02);
        string sentence = Assert.Single(r.Undetermined);
        output.WriteLine(sentence);
        Assert.Contains("surface offset", sentence, StringComparison.Ordinal);
        Assert.True(r.Estimates[1].IsHeld);
        Assert.InRange(r.Estimates[0].Value, 231 - (4 * r.Estimates[0].Sigma), 231 + (4 * r.Estimates[0].Sigma));
        Assert.True(r.Assessment.IsTrusted);
    }

    [Fact]
    public void Readings_no_better_than_a_ruler_are_not_trusted()
    {
        RigDescription rig = Synthetic.Rig("straight-quarter-twenty");
        RodResult r = RodCalibration.Fit(rig, Synthetic.Rod(new SwivelledLinkage(291, 291, 0),
            Synthetic.Spread(60, 75, 9), 0, 0.1, new Random(4), 0.1), 0.1);
        Assert.Contains(r.Assessment.Reasons, s => s.Contains("no better than a ruler", StringComparison.Ordinal));
    }

    [Fact]
    public void The_wrong_form_shows_in_the_residuals()
    {
        // A straight rod measured, a fixed rod in the file.
        RigDescription rig = Synthetic.Rig("fixed-rod-offset", ("longest_mm = 95.0", "longest_mm = 200.0"));
        RodResult r = RodCalibration.Fit(rig, Synthetic.Rod(new SwivelledLinkage(229, 229, 0),
            Synthetic.Spread(5, 200, 20), 0, 0.02, new Random(5), 0.02), 0.02);
        Assert.False(r.Assessment.IsTrusted);
        Assert.NotEmpty(r.Assessment.Reasons);
    }

    [Fact]
    public void A_hinge_far_from_its_drawing_is_questioned()
    {
        RigDescription rig = Synthetic.Rig("straight-quarter-twenty");
        RodResult r = RodCalibration.Fit(rig, Synthetic.Rod(new SwivelledLinkage(330, 330, 0),
            Synthetic.Spread(25, 150, 14), 0, 0.03, new Random(6), 0.03), 0.02);
        Assert.Contains(r.Assessment.Reasons, s => s.Contains("implausible", StringComparison.Ordinal));
    }

    // The rate by the file's numbers against a hinge built 1.5 % larger: slow by 1.5 % to first order.
    [Fact]
    public void The_drive_by_the_files_numbers_is_judged()
    {
        RigDescription rig = Synthetic.Rig("straight-quarter-twenty");
        double a = 290.3 * 1.015;
        RodResult r = RodCalibration.Fit(rig, Synthetic.Rod(new SwivelledLinkage(a, a, 0),
            Synthetic.Spread(25, 150, 14), 0, 0.001, new Random(7), 0.001), 0.0001);
        Assert.InRange(r.FileRatePpm, -15200, -14600);
    }

    [Theory]
    [InlineData("rod_mm,angle\n25,5\n",
        "data.csv:1: column \"angle\" is unknown; the first line must name the columns rod_mm, angle_deg.")]
    [InlineData("rod_mm,angle_deg\n25,five\n",
        "data.csv:2: column 2, angle_deg = five: must be a number, -10 to 120 degrees.")]
    [InlineData("rod_mm,angle_deg\n# first\n\n25,500\n",
        "data.csv:4: column 2, angle_deg = 500: must be -10 to 120 degrees.")]
    [InlineData("rod_mm,angle_deg\n25\n",
        "data.csv:2: 1 value(s), but the first line names 2 columns: rod_mm, angle_deg.")]
    [InlineData("rod_mm,gap_mm,at_mm\n25,90,\n", "data.csv:2: column 3, at_mm = : must be a number, 20 to 3000 mm.")]
    [InlineData("rod_mm,gap_mm,at_mm\n25,500,250\n",
        "data.csv:2: column 2, gap_mm = 500: must be 0 to 475 mm for boards measured 250 mm from the hinge axis.")]
    [InlineData("rod_mm,angle_deg\n", "data.csv: the file has 0 readings; it must have 1 to 10000.")]
    [InlineData("# nothing\n", "data.csv: the file has no readings.")]
    [InlineData("rod_mm,angle_deg\nNaN,5\n", "data.csv:2: column 1, rod_mm = NaN: must be a number, -500 to 2000 mm.")]
    public void A_bad_file_is_told_by_place_column_value_and_range(string csv, string expected) =>
        Assert.Equal(expected,
            Assert.Throws<MeasurementException>(() => RodReading.Read("data.csv", csv, 0.1, 0.2)).Message);

    [Fact]
    public void Spreadsheets_with_semicolons_and_decimal_commas_are_read()
    {
        RodReading reading =
            Assert.Single(RodReading.Read("x", "\uFEFFat_mm;rod_mm;gap_mm\r\n250;25,5;21,75\r\n", 0.1, 0.2));
        Assert.Equal(25.5, reading.RodMm);
        Assert.Equal(2 * Math.Asin(21.75 / 500), reading.AngleRad, 12);
    }

    [Fact]
    public void Turns_that_do_not_rise_are_told()
    {
        string message = Assert.Throws<MeasurementException>(() =>
            TurnsCalibration.Read("t.csv", "minutes,nut_turns\n1,1\n2,1\n")).Message;
        Assert.Equal(
            "t.csv:3: column 2, nut_turns = 1: must be more than in the reading before, 1, up to 100000 turns.",
            message);
    }
}
