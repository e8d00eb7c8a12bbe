// Rig file to Rig: which keys there are, what they may be, and what does not fit together.

using System.Text;
using Hourhinge.SharedMath.Geometry;
using Hourhinge.SharedMath.Profile;
using Hourhinge.SharedMath.Rig;

namespace Hourhinge.Rig;

/// <summary>Reads rig files. Everything wrong is a <see cref="RigFileException"/> that names key, value, range and
/// place.</summary>
public static class RigReader
{
    /// <summary>A rig file rides along on the controller, which keeps this many bytes.</summary>
    public const int LargestFileBytes = 4096;

    /// <summary>The tables of a rig file, in the order in which the examples have them; "[]" marks arrays of
    /// tables.</summary>
    public static IReadOnlyList<string> Tables { get; } =
        ["", "hinge", "rod", "gear", "motor", "switches", "rate", "clock", "periodic[]", "camera", "site",
            "calibration"];

    /// <summary>Reads a file; also gives its bytes, whose CRC-32 ties a profile to it.</summary>
    public static RigDescription ReadFile(string path, out byte[] bytes)
    {
        try
        {
            bytes = File.ReadAllBytes(path);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            throw new RigFileException(
                $"{path}: cannot read the rig file: {(File.Exists(path) ? e.Message : "there is no such file")}");
        }

        if (bytes.Length > LargestFileBytes)
        {
            throw new RigFileException(
                $"{path}: the rig file has {bytes.Length} bytes; it must be 1 to {LargestFileBytes} to ride along "
                + "on the controller.");
        }

        string text;
        try
        {
            text = new UTF8Encoding(false, true).GetString(bytes);
        }
        catch (ArgumentException)
        {
            throw new RigFileException($"{path}: not TOML: the file is not UTF-8 text.");
        }

        return Read(path, text);
    }

    /// <summary>Reads the text of a rig file; <paramref name="file"/> is its name for error messages.</summary>
    public static RigDescription Read(string file, string text)
    {
        Func<string, IReadOnlyList<TomlSection>> tables = TomlSection.Parse(file, text, Tables);
        TomlSection One(string name) => tables(name)[0];

        TomlSection top = One("");
        string name = top.Text("name", []);
        if (name.Length is 0 or > ProfileCodec.MaxNameLength || name.Any(c => c is < ' ' or > '~' or '"'))
        {
            throw top.Wrong("name", "must be 1 to 31 printable ASCII characters without quotes");
        }

        top.RefuseUnread(["name"]);
        HingeGeometry hinge = ReadHinge(One("hinge"), out bool opens);
        RodData rod = ReadRod(One("rod"), hinge);
        GearTrain gear = ReadGear(One("gear"), One("motor"), out GearData wheels);
        MotorData motor = MotorReader.Read(One("motor"), gear);
        SiteData? site = ReadSite(One("site"));
        return new RigDescription(
            name,
            hinge,
            opens,
            rod,
            gear,
            motor,
            ReadSwitches(One("switches")),
            ReadRate(One("rate"), site),
            ReadClock(One("clock")),
            ReadAllPeriodic(tables("periodic[]"), rod),
            ReadCamera(One("camera")),
            site,
            ReadCalibration(One("calibration")))
        { Gear = wheels };
    }

    private static HingeGeometry ReadHinge(TomlSection t, out bool opens)
    {
        string form = t.Text("form", ["straight-rod", "bent-rod", "fixed-rod"]);
        opens = t.Text("motion", ["opens", "closes"], "opens") == "opens";
        HingeGeometry hinge;
        if (form == "fixed-rod")
        {
            double radius = t.Number("radius_mm", 20, 2000, "mm");
            double offset = t.Number("surface_offset_mm", -500, 500, "mm", 0);
            double tip = t.Number("tip_radius_mm", 0, 50, "mm", 0);
            if (Math.Abs(offset + tip) >= radius / 2)
            {
                throw t.Wrong("surface_offset_mm",
                    $"with the tip radius it must stay within {radius / -2:0.#} to {radius / 2:0.#} mm, half the "
                    + "hinge radius");
            }

            hinge = new FixedRodHinge(radius, offset, tip);
        }
        else
        {
            double nut = t.Number("nut_arm_mm", 20, 2000, "mm");
            double anchor = t.Number("anchor_arm_mm", 20, 2000, "mm");
            double bend = form == "bent-rod" ? t.Number("bend_radius_mm", 20, 20000, "mm") : 0;
            hinge = new SwivelledRodHinge(nut, anchor, bend);
        }

        t.RefuseUnread(["form", "motion", "nut_arm_mm", "anchor_arm_mm", "bend_radius_mm", "radius_mm",
            "surface_offset_mm", "tip_radius_mm"]);
        return hinge;
    }

    private static RodData ReadRod(TomlSection t, HingeGeometry hinge)
    {
        string thread = t.Text("thread", [], "");
        double pitch = t.Has("pitch_mm") ? t.Number("pitch_mm", 0.1, 10, "mm") : ThreadTable.PitchMm(thread);
        if (pitch == 0)
        {
            throw thread.Length == 0
                ? t.Wrong("thread",
                    "is missing: give a thread such as \"M6\" or \"1/4-20\", or a measured pitch_mm of 0.1 to 10 mm")
                : t.Wrong("thread",
                    $"no such thread in ISO 261 or ASME B1.1; known are {ThreadTable.KnownDesignations()}; or give "
                    + "a measured "
                    + "pitch_mm");
        }

        double shortest = t.Number("shortest_mm", -500, 2000, "mm");
        double longest = t.Number("longest_mm", -500, 2000, "mm");
        if (longest - shortest < 1)
        {
            throw t.Wrong("longest_mm", $"must be at least 1 mm more than rod.shortest_mm = {shortest}");
        }

        double least = hinge.RodLengthMm(hinge.MinAngleRad);
        double most = hinge.RodLengthMm(hinge.MaxAngleRad);
        string range =
            $"this linkage works from {Math.Ceiling(least * 100) / 100:0.##} to {Math.Floor(most * 100) / 100:0.##} "
            + "mm of rod";
        if (double.IsNaN(hinge.AngleRad(shortest)))
        {
            throw t.Wrong("shortest_mm", range);
        }

        if (double.IsNaN(hinge.AngleRad(longest)))
        {
            throw t.Wrong("longest_mm", range);
        }

        t.RefuseUnread(["thread", "pitch_mm", "shortest_mm", "longest_mm"]);
        return new RodData(thread, pitch, shortest, longest);
    }

    private static GearTrain ReadGear(TomlSection gear, TomlSection motor, out GearData wheels)
    {
        var train = new GearTrain(1, 1);
        List<int[]>[] lists = [[], []];
        foreach ((TomlSection t, string key) in new[] { (gear, "pairs"), (motor, "gearbox") })
        {
            foreach (double[] pair in t.Pairs(key, 1, 10000, "teeth"))
            {
                if (pair.Any(p => p != Math.Floor(p)))
                {
                    throw t.Wrong(key, "tooth counts must be whole numbers, 1 to 10000");
                }

                train = train.WithPair((int)pair[0], (int)pair[1])
                    ?? throw t.Wrong(key, "the gear ratio as a fraction has become too large (beyond 2^40)");
                lists[t == gear ? 0 : 1].Add([(int)pair[0], (int)pair[1]]);
            }
        }

        wheels = new GearData(lists[0], lists[1], gear.Number("correction_ppm", -100000, 100000, "ppm", 0));
        (int numerator, int denominator) = wheels.CorrectionFraction();
        gear.RefuseUnread(["pairs", "correction_ppm"]);
        return train.WithPair(numerator, denominator)
            ?? throw gear.Wrong("correction_ppm", "the gear ratio as a fraction has become too large (beyond 2^40)");
    }

    private static SwitchData ReadSwitches(TomlSection t)
    {
        var switches =
            new SwitchData(t.Flag("home", false), t.Flag("end", false), t.Number("back_off_mm", 0.05, 20, "mm", 0.5));
        t.RefuseUnread(["home", "end", "back_off_mm"]);
        return switches;
    }

    private static RateData ReadRate(TomlSection t, SiteData? site)
    {
        string follow = t.Text("follow", ["stars", "refracted-stars", "sun", "moon"], "stars");
        double? declination = null;
        double? hourAngle = null;
        if (follow == "refracted-stars")
        {
            declination = t.Number("declination_deg", -89, 89, "degrees");
            hourAngle = t.Number("hour_angle_h", -12, 12, "hours", 0);
            if (site == null)
            {
                throw t.Wrong("follow", "needs the table [site] with latitude_deg, -90 to 90");
            }
        }

        var rate = new RateData(follow, t.Number("correction_ppm", -50000, 50000, "ppm", 0), declination, hourAngle)
        {
            Change = (
                t.Number("slope_ppm_per_hour", -10000, 10000, "ppm an hour", 0),
                t.Number("curve_ppm_per_hour2", -10000, 10000, "ppm an hour squared", 0),
                t.Number("hold_min", 0, 720, "minutes", 0)),
        };
        t.RefuseUnread(["follow", "correction_ppm", "declination_deg", "hour_angle_h", "slope_ppm_per_hour",
            "curve_ppm_per_hour2", "hold_min"]);
        return rate;
    }

    private static double ReadClock(TomlSection t)
    {
        double trim = t.Number("trim_ppm", -10000, 10000, "ppm", 0);
        t.RefuseUnread(["trim_ppm"]);
        return trim;
    }

    private static List<PeriodicData> ReadAllPeriodic(IReadOnlyList<TomlSection> tables, RodData rod) =>
        tables.Count <= RigParameters.MostPeriodic
            ? [.. tables.Select(t => ReadPeriodic(t, rod))]
            : throw tables[RigParameters.MostPeriodic].Wrong("period_nut_turns",
                $"there may be at most {RigParameters.MostPeriodic} tables [[periodic]]");

    private static PeriodicData ReadPeriodic(TomlSection t, RodData rod)
    {
        double period = t.Number("period_nut_turns", 0.01, 1000, "nut turns");
        double most = PeriodicError.MaxEccentricity * period * rod.PitchMm * 1000 / (2 * Math.PI);
        var term = new PeriodicData(
            period,
            t.Number("amplitude_um", 0, Math.Floor(most), "micrometres"),
            t.Number("phase_deg", -360, 360, "degrees"));
        t.RefuseUnread(["period_nut_turns", "amplitude_um", "phase_deg"]);
        return term;
    }

    private static CameraData? ReadCamera(TomlSection t)
    {
        if (!t.IsPresent)
        {
            return null;
        }

        double[] lenses = t.Numbers("lenses_mm", 4, 3000, "mm");
        var camera = new CameraData(
            t.Number("pixel_um", 0.5, 50, "micrometres"),
            t.Whole("width_px", 100, 100000, "pixels"),
            t.Whole("height_px", 100, 100000, "pixels"),
            lenses.Length > 0 ? lenses : throw t.Wrong("lenses_mm", "give at least one focal length, 4 to 3000 mm"));
        t.RefuseUnread(["pixel_um", "width_px", "height_px", "lenses_mm"]);
        return camera;
    }

    private static SiteData? ReadSite(TomlSection t)
    {
        if (!t.IsPresent)
        {
            return null;
        }

        var site = new SiteData(
            t.Text("name", [], ""),
            t.Number("latitude_deg", -90, 90, "degrees"),
            t.Number("longitude_deg", -180, 180, "degrees, east positive"),
            t.Number("height_m", -500, 9000, "m", 0));
        t.RefuseUnread(["name", "latitude_deg", "longitude_deg", "height_m"]);
        return site;
    }

    private static CalibrationData? ReadCalibration(TomlSection t)
    {
        if (!t.IsPresent)
        {
            return null;
        }

        double? Optional(string key, double most, string unit) => t.Has(key) ? t.Number(key, 0, most, unit) : null;
        var calibration = new CalibrationData(
            t.Text("date", [], ""),
            t.Text("method", [], ""),
            Optional("rate_uncertainty_ppm", 1e6, "ppm"),
            Optional("arm_uncertainty_mm", 100, "mm"),
            Optional("axis_error_arcmin", 5400, "arcmin"));
        t.RefuseUnread(["date", "method", "rate_uncertainty_ppm", "arm_uncertainty_mm", "axis_error_arcmin"]);
        return calibration;
    }
}
