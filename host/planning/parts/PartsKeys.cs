// The table of keys of a file of parts (PARTS.toml): what is in the box, and what is wanted. The reader, the questions
// and hardware-notes/parts-file.md follow it.

using Hourhinge.Rig;
using Hourhinge.SharedMath.Compile;

namespace Hourhinge.Planning.Parts;

/// <summary>The keys of a file of parts, in the order of its tables.</summary>
public static class PartsKeys
{
    private const string Stepper = "stepper";
    private const string Dc = "dc, dc-encoder";

    /// <summary>All keys.</summary>
    public static IReadOnlyList<RigFileKey> All { get; } =
    [
        new("", "name", KeyKind.Text, "", 0, 0, "", "name of the rig, 1 to 31 printable ASCII characters"),

        Number("wanted", "travel_min", 5, 480, "min", "", "travel without a rewind"),
        Number("wanted", "error_px", 0.05, 20, "pixels", "1", "largest error at the longest lens"),
        Number("wanted", "pack_hours", 0.5, 100, "h", "6", "how long the pack must last"),

        Number("camera", "pixel_um", 0.5, 50, "micrometres", "", "pixel pitch"),
        Integer("camera", "width_px", 100, 100000, "pixels", "6000", "width of a frame"),
        Integer("camera", "height_px", 100, 100000, "pixels", "4000", "height of a frame"),
        Number("camera", "lens_mm", 4, 3000, "mm", "", "longest focal length"),
        Number("camera", "mass_kg", 0.05, 20, "kg", "", "camera, lens and head together"),
        Number("camera", "lever_mm", 0, 1000, "mm", "", "their centre of mass from the hinge axis, level"),

        Number("boards", "length_mm", 80, 2000, "mm", "", "length of the longest board"),
        Flag("boards", "third", "a third board and a second hinge for a double arm"),

        Text("rod[]", "thread", "thread by ISO 261 or ASME B1.1; needed without pitch_mm"),
        Number("rod[]", "pitch_mm", RigCompiler.MinPitchMm, RigCompiler.MaxPitchMm, "mm", RigFileKey.None,
            "measured pitch; needs diameter_mm when thread is missing"),
        Number("rod[]", "diameter_mm", 2, 30, "mm", RigFileKey.None, "outer diameter of the thread"),
        Number("rod[]", "length_mm", 40, 3000, "mm", "", "length of the rod"),
        Flag("rod[]", "bendable", "it can be bent to an arc"),
        Number("rod[]", "bend_radius_mm", 20, 20000, "mm", RigFileKey.None,
            "radius that it is bent to already; absent: it is straight"),

        new("wheels", "teeth", KeyKind.Numbers, "teeth", 6, 1000, RigFileKey.None,
            "tooth counts, one for each wheel in the box"),

        Text("motor[]", "name", "a name for the table"),
        new("motor[]", "kind", KeyKind.Word, "", 0, 2, "", "kind of motor")
            { Words = ["stepper", "dc-encoder", "dc"] },
        new("motor[]", "gearbox", KeyKind.Pairs, "teeth", 1, 10000, RigFileKey.None,
            "wheels inside its gearbox: nut's side, motor's side"),
        Integer("motor[]", "full_steps", 4, 1000000, "steps a turn", RigFileKey.None,
            "full steps of a turn of the motor's own shaft") with { Only = Stepper },
        new("motor[]", "microsteps", KeyKind.Numbers, "microsteps a step", 1, 256, RigFileKey.None,
            "settings of the driver; absent: 1, 2, 4, 8, 16") { Only = Stepper },
        Number("motor[]", "pull_in_full_steps_per_sec", 1, 20000, "full steps/s", "500",
            "speed at which it starts without a ramp") with { Only = Stepper },
        Number("motor[]", "holding_torque_mnm", 0.1, 100000, "mN m", RigFileKey.None,
            "holding torque of the output shaft") with { Only = Stepper },
        Number("motor[]", "supply_ma", 1, 20000, "mA", RigFileKey.None, "what it draws from the pack while it turns")
            with { Only = Stepper },
        Integer("motor[]", "counts_per_turn", 1, 1000000, "encoder counts a motor turn", RigFileKey.None,
            "encoder counts of a turn of the motor's own shaft") with { Only = "dc-encoder" },
        Number("motor[]", "volts", 1, 60, "V", RigFileKey.None, "voltage of the four values below") with { Only = Dc },
        Number("motor[]", "no_load_rpm", 0.01, 100000, "turns a minute", RigFileKey.None,
            "no-load speed of the output shaft") with { Only = Dc },
        Number("motor[]", "stall_torque_mnm", 0.1, 100000, "mN m", RigFileKey.None,
            "stall torque of the output shaft") with { Only = Dc },
        Number("motor[]", "no_load_ma", 0.1, 20000, "mA", RigFileKey.None, "no-load current") with { Only = Dc },
        Number("motor[]", "stall_ma", 1, 100000, "mA", RigFileKey.None, "stall current") with { Only = Dc },

        Number("pack", "volts", 3, 60, "V", "", "voltage at the board"),
        Number("pack", "mah", 50, 1000000, "mAh", "", "capacity on the label"),
        Number("pack", "label_volts", 1, 60, "V", RigFileKey.None,
            "voltage that the label's mAh are counted at: 3.7 for a USB bank; absent: volts"),
        Number("pack", "controller_ma", 1, 5000, "mA", "70", "what the controller draws"),
    ];

    private static RigFileKey Text(string table, string key, string meaning) =>
        new(table, key, KeyKind.Text, "", 0, 0, "\"\"", meaning);

    private static RigFileKey Number(
        string table, string key, double min, double max, string unit, string initial, string meaning) =>
        new(table, key, KeyKind.Number, unit, min, max, initial, meaning);

    private static RigFileKey Integer(
        string table, string key, int min, int max, string unit, string initial, string meaning) =>
        new(table, key, KeyKind.IntegerNumber, unit, min, max, initial, meaning);

    private static RigFileKey Flag(string table, string key, string meaning) =>
        new(table, key, KeyKind.Flag, "", 0, 1, "false", meaning);
}
