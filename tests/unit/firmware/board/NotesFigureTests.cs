// Figures in the hardware notes, recomputed from the formula that stands beside them.

using System.Globalization;
using System.Text.RegularExpressions;
using Hourhinge.SharedMath.Geometry;
using Hourhinge.Tests.Support;

namespace Hourhinge.Tests.Firmware.Board;

public sealed class NotesFigureTests
{
    private const double ArmMm = 228.6;
    private const double ArcsecPerRad = 206264.806;

    [Fact]
    public void Keep_alive_costs_follow_from_the_pattern()
    {
        MatchCollection rows = Regex.Matches(
            Note("power.md"),
            @"^\| \**([\d.]+) s\** \| \**(\d+) s\** \| \**([\d.]+) mA\** \| \**(\d+) mAh\** \| \**([\d.]+) %\** \|",
            RegexOptions.Multiline);
        Assert.Equal(4, rows.Count);
        foreach (Match row in rows)
        {
            double mean = 5000.0 / 33 * Number(row, 1) / Number(row, 2);
            Assert.Equal(mean, Number(row, 3), mean * 0.02);
            Assert.Equal(mean * 8, Number(row, 4), 1.0);
            Assert.Equal(mean * 8 / 66.60, Number(row, 5), 0.06);
        }
    }

    [Fact]
    public void Wire_resistances_follow_from_the_gauge()
    {
        // ASTM B258 diameters, IEC 60028 resistivity.
        MatchCollection rows = Regex.Matches(
            Note("power.md"), @"^\| (\d+) AWG[^|]*\| ([\d.]+) \| ([\d.]+) V", RegexOptions.Multiline);
        Assert.Equal(3, rows.Count);
        foreach (Match row in rows)
        {
            double diameterM = 0.127e-3 * Math.Pow(92, (36 - Number(row, 1)) / 39);
            double ohmsPerM = 1.724e-8 / (Math.PI * diameterM * diameterM / 4);
            Assert.Equal(ohmsPerM, Number(row, 2), 0.0006);
            Assert.Equal(ohmsPerM * 2 * 0.5, Number(row, 3), 0.006);
        }
    }

    [Fact]
    public void Hours_of_the_budget_follow_from_the_bank()
    {
        MatchCollection rows = Regex.Matches(
            Note("power.md"), @"^\| [^|]+ \| (\d+) mA \| (\d+) h \| (\d+) h \|", RegexOptions.Multiline);
        Assert.Equal(4, rows.Count);
        double usable = 10_000 * 3.7 / 5 * 0.9;
        foreach (Match row in rows)
        {
            Assert.Equal(usable / Number(row, 1), Number(row, 2), 0.6);
            Assert.Equal(usable * 0.7 / Number(row, 1), Number(row, 3), 0.6);
        }
    }

    [Fact]
    public void An_error_of_the_arm_costs_what_the_table_says()
    {
        MatchCollection rows = Regex.Matches(
            Note("mechanics.md"),
            @"^\| ([\d.]+) mm \| ([\d.]+) % \| ([\d.]+)″ \| ([\d.]+) \|",
            RegexOptions.Multiline);
        Assert.Equal(3, rows.Count);
        double pixelArcsec = ArcsecPerRad * 4.3e-3 / 85;
        foreach (Match row in rows)
        {
            double part = Number(row, 1) / ArmMm;
            double arcsec = part * SkyRate.SiderealRadPerSec * ArcsecPerRad * 60;
            Assert.Equal(part * 100, Number(row, 2), 0.006);
            Assert.Equal(arcsec, Number(row, 3), 0.06);
            Assert.Equal(arcsec / pixelArcsec, Number(row, 4), 0.006);
        }
    }

    [Fact]
    public void Former_and_gauge_follow_from_bending()
    {
        string text = Note("mechanics.md");
        double released = 64 * 400 / (6 * Math.PI * 200e3 * 4.77);
        Assert.Contains("= 0.00142 /mm", text, StringComparison.Ordinal);
        Assert.Equal(0.00142, released, 0.000005);
        Assert.Contains("≈ 172 mm", text, StringComparison.Ordinal);
        Assert.Equal(172, 1 / ((1 / ArmMm) + released), 0.6);
        foreach (Match row in Regex.Matches(
            text, @"^\| (\d+) mm \| ([\d.]+) mm \| ([\d.]+) mm of radius \|", RegexOptions.Multiline))
        {
            double half = Number(row, 1) / 2;
            double s = ArmMm - Math.Sqrt((ArmMm * ArmMm) - (half * half));
            Assert.Equal(s, Number(row, 2), 0.006);
            Assert.Equal(0.1 * ((half * half / (2 * s * s)) - 0.5), Number(row, 3), 0.06);
        }
    }

    [Fact]
    public void The_force_of_the_nut_follows_from_the_motor_and_the_thread()
    {
        // ISO 724: d2 = d - 0.6495 P.
        double pitchDiameter = 6 - 0.6495;
        double lead = Math.Atan(1 / (Math.PI * pitchDiameter));
        double force = 34.0 * 43 / 13 / (pitchDiameter / 2 * Math.Tan(Math.Atan(0.15) + lead));
        Assert.Equal(200, force, 2.0);
        Assert.Contains("**200 N**", Note("cautions.md"), StringComparison.Ordinal);
        foreach ((string name, double d, double p) in new[] { ("M6", 6, 1), ("1/4-20", 6.35, 1.27),
            ("8-32", 4.166, 0.79375) })
        {
            double degrees = Math.Atan(p / (Math.PI * (d - (0.6495 * p)))) * 180 / Math.PI;
            Match said = Regex.Match(Note("power.md"), Regex.Escape(name) + @": ([\d.]+)°");
            Assert.Equal(degrees, Number(said, 1), 0.06);
        }
    }

    private static string Note(string file) =>
        File.ReadAllText(Path.Combine(RepositoryFile.Root, "hardware-notes", file));

    private static double Number(Match match, int group) =>
        double.Parse(match.Groups[group].Value, CultureInfo.InvariantCulture);
}
