using Hourhinge.Rig;

namespace Hourhinge.App.Rig;

/// <summary>What `rig new` asks about one key of the rig file.</summary>
/// <param name="Table">The key's table.</param>
/// <param name="Key">The key.</param>
/// <param name="Ask">The question.</param>
/// <param name="How">How to measure it, or where it is written.</param>
/// <param name="Usual">The answer of an empty line; null when there is none.</param>
internal sealed record RigQuestion(string Table, string Key, string Ask, string How, string? Usual = null)
{
    /// <summary>The questions in their order. Those of camera and site are asked after a question of their
    /// own.</summary>
    public static IReadOnlyList<RigQuestion> All { get; } =
    [
        new("", "name", "Name of the rig", "1 to 31 letters; it shows on pages and on the controller."),

        new("hinge", "motion", "Does the hinge open or close while it tracks",
            "With the camera on the upper board, most hinges open.", "opens"),
        new("hinge", "nut_arm_mm", "Hinge axis to the nut's pivot",
            "From the middle of the hinge pin to the middle of the pivot that carries the nut. Measure to the near and "
            + "to the far edge of each pin and take the mean."),
        new("hinge", "anchor_arm_mm", "Hinge axis to the rod's other pivot",
            "As before, along the other board. It may differ from the nut's arm."),
        new("hinge", "bend_radius_mm", "Radius of the bent rod",
            "Of the rod's centre line. Lay the rod on paper, draw along both sides, and fit a circle between."),
        new("hinge", "radius_mm", "Hinge axis to the rod",
            "Along the board that carries the rod, from the middle of the hinge pin to the middle of the rod."),
        new("hinge", "surface_offset_mm", "Riding surface below the hinge axis",
            "Close the hinge. Height of the pin's middle above the surface that rides on the tip; negative when the "
            + "surface is above the axis.", "0"),
        new("hinge", "tip_radius_mm", "Radius of the rod's rounded tip",
            "Half the diameter of a cap nut; 0 for a sharp point.", "0"),

        new("hinge", "contact_arm_mm", "Hinge of the arm with the tip to the tip",
            "drive-tip: along the driving arm, from its hinge pin to the tip (or its roller's centre). camera-tip: "
            + "along the camera's arm."),
        new("hinge", "hinge_distance_mm", "Camera's hinge to the driving arm's hinge",
            "Along the base, from pin to pin; negative when the driving hinge is behind the camera's, seen from the "
            + "tip. camera-tip-straight has the least error by itself at minus half of the contact arm."),
        new("hinge", "hinge_height_mm", "Driving arm's hinge above the camera's",
            "Square to the base; 0 for two pins at the same height.", "0"),
        new("hinge", "contact_offset_mm", "Offset of the contact",
            "From the tip (or its roller's centre) to the line through the hinge of the arm that slides on it; "
            + "negative when the camera's side is the lower.", "0"),

        new("rod", "thread", "Thread of the rod",
            "By name: M6, M8x1, 1/4-20, 5/16-18, 10-32. Or a measured pitch with its unit: 1.0008 mm. Measure it over "
            + "many threads."),
        new("rod", "shortest_mm", "Shortest rod in use",
            "From pivot to pivot (fixed rod: from its board to the tip) with the hinge nearly closed."),
        new("rod", "longest_mm", "Longest rod in use",
            "The same with the hinge as far open as it may go."),

        new("gear", "pairs", "Wheels between motor and nut",
            "Teeth on the nut's side : teeth on the motor's side, such as 60:20. Several: 60:20, 32:9. An empty line: "
            + "the motor turns the nut directly.", "none"),

        new("motor", "full_steps", "Full steps of one turn of the motor",
            "From its data sheet: 200 for 1.8 degrees, 400 for 0.9 degrees; of the motor itself, without its gearbox.",
            "200"),
        new("motor", "counts_per_turn", "Encoder counts of one turn of the motor",
            "From its data sheet, all edges counted; of the motor itself, without its gearbox."),
        new("motor", "microsteps", "Microsteps of one full step", "As the driver is set.", "16"),
        new("motor", "gearbox", "Gearbox of the motor itself",
            "As wheels: 100:1. From its data sheet, or the counted teeth: 32:9, 22:11. An empty line: none.", "none"),
        new("motor", "pull_in_steps_per_sec", "Full speed without a ramp, microsteps a second",
            "The speed at which the loaded motor still starts at once. 500 full steps a second is common practice; "
            + "times the microsteps."),
        new("motor", "bridge", "Can the driver run the motor backwards",
            "Yes with an H bridge; no with one transistor.", "yes"),
        new("motor", "speed_curve_volts", "Motor voltage while its speed was measured", "At the motor, while it runs."),
        new("motor", "speed_curve", "Measured speeds of the nut",
            "Pairs of duty in % and nut turns a minute: 14 0.3, 50 7.0, 100 17.0. Not measured yet: an empty line "
            + "writes sample values; measure with: hourhinge calibrate turns.", "sample"),
        new("motor", "least_volts", "Lowest motor voltage at which the drive may run",
            "Of a discharged pack; the drive stops below it."),

        new("switches", "home", "Is a home switch fitted", "At the start of the travel.", "no"),
        new("switches", "end", "Is an end switch fitted", "At the end of the travel.", "no"),

        new("camera", "pixel_um", "Pixel pitch, micrometres",
            "Width of the sensor in micrometres divided by its pixels."),
        new("camera", "width_px", "Width of a frame, pixels", "Of an unscaled picture."),
        new("camera", "height_px", "Height of a frame, pixels", "Of an unscaled picture."),
        new("camera", "lenses_mm", "Focal lengths of your lenses, mm", "One or more: 50, 24. The first is the usual."),

        new("site", "name", "Name of the site", "As you like.", ""),
        new("site", "latitude_deg", "Latitude, degrees", "North positive, such as 42.8 or -23.4."),
        new("site", "longitude_deg", "Longitude, degrees", "East positive, such as 12.6 or -3.1."),
        new("site", "height_m", "Height above the sea, m", "To 100 m is enough.", "0"),
        new("site", "time_zone", "Time zone",
            "By its IANA name, such as Europe/Madrid or America/Denver. An empty line: UTC.", ""),

        new("pack", "volts", "Voltage of the pack at the board", "5 for a USB bank.", "5"),
        new("pack", "mah", "Capacity on the pack's label, mAh", "As printed."),
        new("pack", "label_volts", "Voltage that the label's mAh are counted at",
            "3.7 for a USB bank, whose label counts its cells; for other packs the pack's own voltage."),
        new("pack", "current_ma", "Current while tracking, mA",
            "Of motor and controller together, measured with a meter in the pack's lead."),
    ];

    /// <summary>What the hinge forms and drives are.</summary>
    public static IReadOnlyDictionary<string, string> Choices { get; } = new Dictionary<string, string>
    {
        ["straight-rod"] = "a straight rod that swivels at both ends",
        ["bent-rod"] = "a rod bent to an arc, free to swivel at both ends",
        ["fixed-rod"] = "a straight rod square to one board, under the other",
        ["drive-tip-straight"] = "double arm: camera's arm on the driving arm's tip",
        ["drive-tip-fixed"] = "the same, with a fixed rod",
        ["camera-tip-straight"] = "double arm: driving arm on the camera arm's tip",
        ["camera-tip-fixed"] = "the same, with a fixed rod",
        ["stepper"] = "a stepper motor",
        ["dc-encoder"] = "a DC gear motor with an encoder",
        ["dc"] = "a DC gear motor without an encoder (open loop)",
        ["opens"] = "the boards move apart",
        ["closes"] = "the boards move together",
    };

    /// <summary>The key's row.</summary>
    public RigFileKey Row => RigKeys.Get(Table, Key);
}
