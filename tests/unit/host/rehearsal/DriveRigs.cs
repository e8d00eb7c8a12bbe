namespace Hourhinge.Tests.Host.Rehearsal;

/// <summary>Rigs of every form and drive. Stepper and encoder resolve 0.03 arcsec and better.</summary>
internal static class DriveRigs
{
    public static readonly string[] Drives = ["stepper", "dc-encoder", "dc"];

    public static readonly string[] Forms =
        ["straight-rod", "bent-rod", "fixed-rod", "drive-tip-fixed", "camera-tip-straight"];

    public static string Text(string form, bool opens, string drive, bool home)
    {
        const string Second =
            "\ncontact_arm_mm = 180\nhinge_distance_mm = -20\nhinge_height_mm = 3\ncontact_offset_mm = 6";
        string arms = form switch
        {
            "straight-rod" => "nut_arm_mm = 230\nanchor_arm_mm = 228",
            "bent-rod" => "nut_arm_mm = 230\nanchor_arm_mm = 230\nbend_radius_mm = 230",
            "drive-tip-fixed" => $"radius_mm = 230\nsurface_offset_mm = 4{Second}",
            "camera-tip-straight" => $"nut_arm_mm = 230\nanchor_arm_mm = 228{Second}",
            _ => "radius_mm = 230\nsurface_offset_mm = 4",
        };
        string motor = drive switch
        {
            "stepper" => "full_steps = 200\nmicrosteps = 64\npull_in_steps_per_sec = 4000",
            "dc-encoder" => $"counts_per_turn = 28\ngearbox = [[1000, 1]]\n{Curve}",
            _ => $"gearbox = [[100, 1]]\n{Curve}",
        };
        return $"""
            name = "Any {drive}"
            [hinge]
            form = "{form}"
            motion = "{(opens ? "opens" : "closes")}"
            {arms}
            [rod]
            thread = "M6"
            shortest_mm = 20
            longest_mm = 110
            [gear]
            pairs = [[60, 20]]
            [motor]
            kind = "{drive}"
            {motor}
            [switches]
            home = {(home ? "true" : "false")}
            [camera]
            pixel_um = 4
            width_px = 600
            height_px = 400
            lenses_mm = [50]
            [site]
            latitude_deg = 45
            longitude_deg = 10
            """;
    }

    private const string Curve =
        "speed_curve_volts = 5.2\nleast_volts = 4.2\nspeed_curve = [[14, 0.32], [25, 2.4], [50, 7.2], [100, 16.9]]";
}
