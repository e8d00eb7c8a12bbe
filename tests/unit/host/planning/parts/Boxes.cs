using System.Globalization;
using Hourhinge.Tests.Support;

namespace Hourhinge.Tests.Host.Planning.Parts;

/// <summary>Boxes of parts of our own invention, and random ones.</summary>
internal static class Boxes
{
    private const string Wheels = "[wheels]\nteeth = [12, 16, 20, 20, 36, 48, 60]";

    private const string UsbPack = "[pack]\nvolts = 5\nmah = 10000\nlabel_volts = 3.7";

    /// <summary>Names of the five.</summary>
    public static IReadOnlyList<string> Names { get; } = ["dotterel", "wheatear", "pipit", "sandpiper", "ouzel"];

    /// <summary>The text of a box.</summary>
    public static string Text(string name) => name switch
    {
        // A hand-bent UNC rod, a DC gear motor without an encoder, a 5 V pack and a lens of 200 mm.
        "dotterel" => $$"""
            name = "Dotterel"
            [wanted]
            travel_min = 20
            [camera]
            pixel_um = 4.3
            lens_mm = 200
            mass_kg = 1.6
            lever_mm = 60
            [boards]
            length_mm = 330
            [[rod]]
            thread = "1/4-20"
            length_mm = 200
            bend_radius_mm = 287.5
            {{Wheels}}
            [[motor]]
            name = "small gear motor"
            kind = "dc"
            gearbox = [[298, 1]]
            volts = 5
            no_load_rpm = 6
            stall_torque_mnm = 300
            no_load_ma = 10
            stall_ma = 450
            {{UsbPack}}
            """,
        "wheatear" => File.ReadAllText(RepositoryFile.Path("host/examples/parts/wheatear.toml")),
        "pipit" => $$"""
            name = "Pipit"
            [wanted]
            travel_min = 45
            [camera]
            pixel_um = 4.3
            lens_mm = 85
            mass_kg = 0.9
            lever_mm = 50
            [boards]
            length_mm = 280
            [[rod]]
            thread = "M5"
            length_mm = 180
            bendable = true
            {{Wheels}}
            [[motor]]
            name = "small geared stepper"
            kind = "stepper"
            gearbox = [[32, 9], [22, 11], [26, 9], [31, 10]]
            full_steps = 32
            microsteps = [1, 2]
            holding_torque_mnm = 34
            pull_in_full_steps_per_sec = 400
            supply_ma = 75
            {{UsbPack}}
            """,
        "sandpiper" => $$"""
            name = "Sandpiper"
            [wanted]
            travel_min = 90
            error_px = 1
            [camera]
            pixel_um = 5.9
            lens_mm = 300
            mass_kg = 2.4
            lever_mm = 90
            [boards]
            length_mm = 420
            third = true
            [[rod]]
            thread = "10-32"
            length_mm = 320
            {{Wheels}}
            [[motor]]
            name = "encoder gear motor"
            kind = "dc-encoder"
            counts_per_turn = 28
            gearbox = [[150, 1]]
            volts = 6
            no_load_rpm = 20
            stall_torque_mnm = 400
            no_load_ma = 40
            stall_ma = 900
            [pack]
            volts = 12
            mah = 5000
            """,
        _ => $$"""
            name = "Ouzel"
            [wanted]
            travel_min = 120
            error_px = 2
            [camera]
            pixel_um = 4.8
            lens_mm = 24
            mass_kg = 0.7
            lever_mm = 40
            [boards]
            length_mm = 240
            [[rod]]
            pitch_mm = 1.0008
            diameter_mm = 5.9
            length_mm = 250
            [[motor]]
            name = "400-step motor"
            kind = "stepper"
            full_steps = 400
            holding_torque_mnm = 120
            supply_ma = 300
            {{UsbPack}}
            """,
    };

    /// <summary>A box within what people have; many of them lack something.</summary>
    public static string Random(int seed)
    {
        var r = new Random(seed);
        string N(double low, double high) =>
            (low + (r.NextDouble() * (high - low))).ToString("0.###", CultureInfo.InvariantCulture);
        string Pick(params string[] words) => words[r.Next(words.Length)];
        string Motor() => r.Next(2) == 0
            ? $"kind = \"stepper\"\nfull_steps = {Pick("32", "48", "200", "400")}\nholding_torque_mnm = {N(5, 400)}\n"
                + $"supply_ma = {N(50, 600)}\npull_in_full_steps_per_sec = {N(100, 900)}\n"
                + (r.Next(2) == 0 ? "gearbox = [[32, 9], [22, 11], [26, 9], [31, 10]]\n" : "")
            : (r.Next(2) == 0 ? "kind = \"dc\"\n" : "kind = \"dc-encoder\"\ncounts_per_turn = 24\n")
                + $"volts = {N(3, 12)}\nno_load_rpm = {N(2, 60)}\nstall_torque_mnm = {N(20, 600)}\n"
                + $"no_load_ma = {N(5, 60)}\nstall_ma = {N(200, 1500)}\ngearbox = [[{r.Next(30, 400)}, 1]]\n";
        return $"""
            name = "Box {seed}"
            [wanted]
            travel_min = {N(15, 150)}
            error_px = {N(0.3, 3)}
            pack_hours = {N(2, 14)}
            [camera]
            pixel_um = {N(3, 7)}
            lens_mm = {N(14, 400)}
            mass_kg = {N(0.3, 4)}
            lever_mm = {N(0, 200)}
            [boards]
            length_mm = {N(110, 450)}
            third = {Pick("true", "false")}
            [[rod]]
            thread = "{Pick("M4", "M5", "M6", "M8", "1/4-20", "8-32", "10-32", "5/16-18", "M6x0.75")}"
            length_mm = {N(70, 500)}
            bendable = {Pick("true", "false")}
            [wheels]
            teeth = [{string.Join(", ", Enumerable.Range(0, r.Next(0, 7)).Select(_ => r.Next(8, 90)))}]
            [[motor]]
            {Motor()}
            [pack]
            volts = {N(4.5, 12)}
            mah = {N(500, 20000)}
            """;
    }
}
