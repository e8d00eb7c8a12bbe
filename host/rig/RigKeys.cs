// The table of a rig file's keys. What the controller knows as well comes from its own table, RigParameters; the keys
// that exist on the host alone are rows here. The reader, the template of `rig new` and KEYS.md come from this table.

using Hourhinge.SharedMath.Compile;
using Hourhinge.SharedMath.Rig;

namespace Hourhinge.Rig;

/// <summary>The keys of a rig file, in the order of its tables.</summary>
public static class RigKeys
{
    private const string Stepper = "stepper";
    private const string Dc = "dc-encoder, dc";
    private const string Swivelled = "straight-rod, bent-rod, drive-tip-straight, camera-tip-straight";
    private const string Fixed = "fixed-rod, drive-tip-fixed, camera-tip-fixed";
    private const string Double =
        "drive-tip-straight, drive-tip-fixed, camera-tip-straight, camera-tip-fixed";
    private const string Steps = "RIG:MOTor:STEPs";

    /// <summary>The methods of calibration.</summary>
    public static IReadOnlyList<string> Methods { get; } = ["turns", "motor", "rod", "stars"];

    /// <summary>All keys.</summary>
    public static IReadOnlyList<RigFileKey> All { get; } =
    [
        Text("", "name", "1 to 31 printable ASCII characters without quotes") with
            { Default = "", Sample = "\"My rig\"" },

        Shared(RigParameters.Form) with { Default = "", Sample = "\"straight-rod\"" },
        Shared(RigParameters.Opens),
        Shared(RigParameters.NutArm) with { Default = "", Only = Swivelled, Sample = "290.0" },
        Shared(RigParameters.AnchorArm) with { Default = "", Only = Swivelled, Sample = "290.0" },
        Shared(RigParameters.BendRadius) with { Default = "", Only = "bent-rod", Sample = "290.0" },
        Shared(RigParameters.Radius) with { Default = "", Only = Fixed, Sample = "290.0" },
        Shared(RigParameters.SurfaceOffset) with { Only = Fixed },
        Shared(RigParameters.TipRadius) with { Only = Fixed },
        Shared(RigParameters.ContactArm) with { Default = "", Only = Double, Sample = "200.0" },
        Shared(RigParameters.HingeDistance) with { Default = "", Only = Double, Sample = "-100.0" },
        Shared(RigParameters.HingeHeight) with { Only = Double },
        Shared(RigParameters.ContactOffset) with { Only = Double },

        Text("rod", "thread", "by ISO 261 or ASME B1.1, such as \"M6\"; needed without pitch_mm") with
            { Header = "RIG:THRead", Sample = "\"1/4-20\"" },
        Shared(RigParameters.Pitch) with
            { Min = RigCompiler.MinPitchMm, Max = RigCompiler.MaxPitchMm, Default = "the thread's pitch" },
        Shared(RigParameters.Shortest) with { Default = "", Sample = "20.0" },
        Shared(RigParameters.Longest) with { Default = "", Sample = "150.0" },

        Pairs("gear", "pairs", 1, 10000, "teeth", "RIG:GEAR",
            "teeth of each pair of wheels between motor and nut: nut's side, motor's side") with
            { Sample = "[[60, 20]]" },
        Number("gear", "correction_ppm", -100000, 100000, "ppm", "0",
            "measured correction of the ratio; positive when the nut needs more motor turns") with
            { IsCalibrated = true },

        Shared(RigParameters.DriveKind) with { Default = "", Sample = "\"stepper\"" },
        Integer("motor", "full_steps", 4, (int)RigParameters.KeyOf(RigParameters.Steps).Max, "steps a turn", Steps,
            "full steps of a turn of the motor's shaft") with
            { Only = Stepper, Sample = "200" },
        Integer("motor", "counts_per_turn", 1, (int)RigParameters.KeyOf(RigParameters.Steps).Max,
            "encoder counts a motor turn", Steps,
            "encoder counts of a turn of the motor's shaft") with { Only = "dc-encoder", Sample = "12" },
        Shared(RigParameters.Microsteps) with { Default = "", Only = Stepper, Sample = "16" },
        Pairs("motor", "gearbox", 1, 10000, "teeth", "RIG:GEAR",
            "wheels inside the motor's gearbox, as gear.pairs") with
            { DcSample = "[[100, 1]]" },
        Shared(RigParameters.PullIn) with { Default = "", Only = Stepper, Sample = "800" },
        Shared(RigParameters.Rewind) with { Default = "pull_in_steps_per_sec", Only = Stepper },
        Shared(RigParameters.Ramp) with { Default = "4 * pull_in_steps_per_sec", Only = Stepper },
        Shared(RigParameters.Approach) with { Default = "pull_in_steps_per_sec / 4", Only = Stepper },
        Shared(RigParameters.Reversed),
        Shared(RigParameters.Release) with { Only = Stepper },
        Flag("motor", "bridge", "true", "RIG:MOTor:ONEWay, inverted", "false: one transistor, forward only") with
            { Only = Dc },
        Number("motor", "speed_curve_volts", 1, 60, "V", "", "motor voltage at which speed_curve was measured") with
            { Only = Dc, Sample = "5.2" },
        Pairs("motor", "speed_curve", 0, 1000, "% and nut turns a minute", null,
            "2 to 32 measured pairs of duty in % and nut turns a minute, both rising") with
            { Default = "", Only = Dc, Sample = "[[14.0, 0.3], [50.0, 7.0], [100.0, 17.0]]" },
        Number("motor", "least_volts", 1, 60, "V", "",
            "lowest motor voltage at which the drive may run; at most speed_curve_volts") with
            { Only = Dc, Sample = "4.2" },
        Number("motor", "break_away_percent", 0, 100, "% duty", "the first duty of speed_curve",
            "duty at which the motor starts from rest") with { Only = Dc },

        Shared(RigParameters.HomeSwitch),
        Shared(RigParameters.EndSwitch),
        Shared(RigParameters.BackOff),

        Shared(RigParameters.Follow),
        Shared(RigParameters.RateCorrection) with { IsCalibrated = true },
        Shared(RigParameters.Declination) with { Default = "", Only = "refracted-stars" },
        Shared(RigParameters.HourAngle) with { Only = "refracted-stars" },
        Shared(RigParameters.RateSlope) with { IsCalibrated = true },
        Shared(RigParameters.RateCurve) with { IsCalibrated = true },
        Shared(RigParameters.RateHold) with { IsCalibrated = true },

        Shared(RigParameters.ClockTrim) with { IsCalibrated = true },

        Shared(RigParameters.Periodic) with { Table = "periodic[]", Default = "", IsCalibrated = true },
        Shared(RigParameters.Periodic + 1) with { Table = "periodic[]", Default = "", IsCalibrated = true },
        Shared(RigParameters.Periodic + 2) with { Table = "periodic[]", Default = "", IsCalibrated = true },

        Number("lens[]", "marked_mm", 4, 3000, "mm", "", "focal length that the lens is marked with") with
            { IsCalibrated = true },
        Number("lens[]", "focal_length_mm", 4, 3000, "mm", "", "focal length measured, at camera.pixel_um") with
            { IsCalibrated = true },
        Number("lens[]", "sigma_mm", 0, 100, "mm", "0", "standard error of focal_length_mm; 0: not told") with
            { IsCalibrated = true },
        Number("lens[]", "k1", -20, 20, "", "0", "distortion r(1 + k1 r² + k2 r⁴), r as tangent of the angle") with
            { IsCalibrated = true },
        Number("lens[]", "k2", -1000, 1000, "", "0", "see k1") with { IsCalibrated = true },
        Text("lens[]", "measured", "day of the measurement") with { IsCalibrated = true },

        Number("pack", "volts", 3, 60, "V", "", "voltage at the board") with { Sample = "5.0" },
        Number("pack", "mah", 50, 1000000, "mAh", "", "capacity on the label") with { Sample = "10000" },
        Number("pack", "label_volts", 1, 60, "V", "volts",
            "voltage of the label's mAh: 3.7 for a USB bank"),
        Number("pack", "current_ma", 0.1, 100000, "mA", "",
            "current of motor and controller while tracking, measured") with { Sample = "250" },

        Number("camera", "pixel_um", 0.5, 50, "micrometres", "", "pixel pitch") with { Sample = "4.0" },
        Integer("camera", "width_px", 100, 100000, "pixels", null, "width of a frame") with { Sample = "6000" },
        Integer("camera", "height_px", 100, 100000, "pixels", null, "height of a frame") with { Sample = "4000" },
        new("camera", "lenses_mm", KeyKind.Numbers, "mm", 4, 3000, "", "focal lengths") { Sample = "[50, 24]" },

        Text("site", "name", "a name for the site"),
        Shared(RigParameters.Latitude) with { Default = "", Sample = "50.0" },
        Number("site", "longitude_deg", -180, 180, "degrees, east positive", "", "longitude") with { Sample = "10.0" },
        Number("site", "height_m", -500, 9000, "m", "0", "height above the sea"),
        Text("site", "time_zone", "IANA time zone of the times shown; without it UTC") with
            { Sample = "\"Europe/Berlin\"" },

        Text("calibration", "date", "day of the last calibration") with { IsCalibrated = true },
        Text("calibration", "method", "method of the last calibration") with { IsCalibrated = true },
        Number("calibration", "rate_uncertainty_ppm", 0, 1000000, "ppm", RigFileKey.None,
            "standard uncertainty of the rate") with { IsCalibrated = true },
        Number("calibration", "arm_uncertainty_mm", 0, 100, "mm", RigFileKey.None,
            "standard uncertainty of the hinge arm") with { IsCalibrated = true },
        Number("calibration", "axis_error_arcmin", 0, 5400, "arcmin", RigFileKey.None,
            "distance of the hinge axis from the pole") with { IsCalibrated = true },
        Text("calibration", "drive_digest", "digest of the drive's constants after the last calibration") with
            { IsCalibrated = true },
        Text("calibration", "drive_since", "UTC from which these constants hold") with { IsCalibrated = true },
        Text("calibration", "drive_by", "method that changed them") with { IsCalibrated = true },
        .. Methods.Select(method => Text("calibration", method + "_against",
            $"digests of the drive and the readings of the last {method} calibration") with { IsCalibrated = true }),
    ];

    /// <summary>The tables in order; "" is the top, "[]" marks arrays of tables.</summary>
    public static IReadOnlyList<string> Tables { get; } = [.. All.Select(k => k.Table).Distinct()];

    /// <summary>The key of a table; <see cref="KeyNotFoundException"/> when there is none.</summary>
    public static RigFileKey Get(string table, string key) =>
        All.FirstOrDefault(k => k.Table == table && k.Key == key)
            ?? throw new KeyNotFoundException($"[{table}] {key}");

    private static RigFileKey Shared(int index)
    {
        RigKey row = RigParameters.KeyOf(index);
        string[] name = row.Key.Split('.');
        bool isFlag = row.Unit.Length == 0 && row.Max == 1;
        double scale = Math.Pow(10, row.Scale);
        return new RigFileKey(
            name[0],
            name[1],
            row.Words != null ? KeyKind.Word
                : isFlag ? KeyKind.Flag
                : row.Scale == 0 ? KeyKind.IntegerNumber : KeyKind.Number,
            row.Unit,
            row.Min / scale,
            row.Max / scale,
            row.Words != null ? $"\"{row.Words[row.Default]}\""
                : isFlag ? (row.Default == 1 ? "true" : "false")
                : RigParameters.Format(row.Default, row.Scale),
            row.Meaning)
        { Header = row.Header, Words = row.Words ?? [] };
    }

    private static RigFileKey Text(string table, string key, string meaning) =>
        new(table, key, KeyKind.Text, "", 0, 0, "\"\"", meaning);

    private static RigFileKey Number(
        string table, string key, double min, double max, string unit, string initial, string meaning) =>
        new(table, key, KeyKind.Number, unit, min, max, initial, meaning);

    private static RigFileKey Integer(
        string table, string key, int min, int max, string unit, string? header, string meaning) =>
        new(table, key, KeyKind.IntegerNumber, unit, min, max, "", meaning) { Header = header };

    private static RigFileKey Flag(string table, string key, string initial, string header, string meaning) =>
        new(table, key, KeyKind.Flag, "", 0, 1, initial, meaning) { Header = header };

    private static RigFileKey Pairs(
        string table, string key, double min, double max, string unit, string? header, string meaning) =>
        new(table, key, KeyKind.Pairs, unit, min, max, RigFileKey.None, meaning) { Header = header };
}
