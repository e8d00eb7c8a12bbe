using System.Globalization;

namespace Hourhinge.Tests.Host.App.Campaigns;

/// <summary>A maker's rig, drawn at random within what people build: every form, drive, set of switches, unit of length
/// and hemisphere in turn.</summary>
internal sealed class GeneratedRig
{
    private static readonly string[] _forms = [
        "straight-rod", "bent-rod", "fixed-rod",
        "drive-tip-straight", "drive-tip-fixed", "camera-tip-straight", "camera-tip-fixed",
    ];
    private static readonly string[] _drives = ["stepper", "dc-encoder", "dc"];
    private static readonly string[] _switches = ["none", "home", "both"];

    /// <summary>Kinds of rigs: the product of all choices.</summary>
    public const int Kinds = 7 * 3 * 3 * 2 * 2;

    private readonly Random _random;
    private readonly bool _isInches;

    /// <summary>Rig number <paramref name="index"/>; consecutive numbers walk through all kinds.</summary>
    public GeneratedRig(int index)
    {
        _random = new Random(index);
        Form = _forms[index % 7];
        Drive = _drives[index / 7 % 3];
        Switches = _switches[index / 21 % 3];
        _isInches = index / 63 % 2 == 1;
        bool isSouth = index / 126 % 2 == 1;
        Kind = $"{Form}, {Drive}, {Switches}, {(_isInches ? "inches" : "mm")}, {(isSouth ? "south" : "north")}";
        Text = $"""
            name = "Rig {index}"
            [hinge]
            form = "{Form}"
            {Hinge()}
            [rod]
            thread = "{Pick("M6", "M8", "1/4-20", "M5")}"
            shortest_mm = {Length(2, 30)}
            longest_mm = {Length(70, 130)}
            [gear]
            pairs = [[{_random.Next(20, 90)}, {_random.Next(10, 30)}]]
            {Motor()}
            [switches]
            {(Switches == "none" ? "" : "home = true")}
            {(Switches == "both" ? "end = true" : "")}
            [camera]
            pixel_um = 4.2
            width_px = 6000
            height_px = 4000
            lenses_mm = [{_random.Next(14, 200)}]
            [site]
            name = "Field {index}"
            latitude_deg = {Number((isSouth ? -1 : 1) * (20 + (_random.NextDouble() * 40)))}
            longitude_deg = {Number((_random.NextDouble() * 360) - 180)}

            """;
    }

    /// <summary>The hinge form.</summary>
    public string Form { get; }

    /// <summary>The kind of drive.</summary>
    public string Drive { get; }

    /// <summary>none, home or both.</summary>
    public string Switches { get; }

    /// <summary>All choices, for messages.</summary>
    public string Kind { get; }

    /// <summary>The rig file.</summary>
    public string Text { get; }

    private string Hinge()
    {
        string arm = Length(200, 400);
        string second = !Form.Contains("tip", StringComparison.Ordinal) ? ""
            : $"\ncontact_arm_mm = {Length(150, 220)}\nhinge_distance_mm = {Length(60, 110, "-")}"
                + $"\nhinge_height_mm = {Number((_random.NextDouble() * 10) - 5)}"
                + $"\ncontact_offset_mm = {Number((_random.NextDouble() * 12) - 4)}";
        return Form switch
        {
            _ when Form.EndsWith("fixed", StringComparison.Ordinal) => $"radius_mm = {arm}{second}",
            "fixed-rod" => $"radius_mm = {arm}",
            "bent-rod" => $"nut_arm_mm = {arm}\nanchor_arm_mm = {arm}\nbend_radius_mm = {arm}",
            _ => $"nut_arm_mm = {arm}\nanchor_arm_mm = {arm}{second}",
        };
    }

    private string Motor() => Drive switch
    {
        "stepper" => $"""
            [motor]
            kind = "stepper"
            full_steps = {Pick("200", "400", "48")}
            microsteps = {Pick("1", "2", "8", "16", "32")}
            pull_in_steps_per_sec = {_random.Next(400, 1200)}
            """,
        "dc-encoder" => $"""
            [motor]
            kind = "dc-encoder"
            counts_per_turn = {_random.Next(8, 64)}
            gearbox = [[{_random.Next(30, 60)}, 1]]
            {Curve()}
            """,
        _ => $"""
            [motor]
            kind = "dc"
            {Curve()}
            """,
    };

    // A motor that reaches the speed that any of these hinges needs, about 0.5 to 1.6 nut turns a minute.
    private string Curve() => """
        speed_curve_volts = 5.2
        speed_curve = [[10.0, 0.05], [25.0, 2.4], [50.0, 7.2], [75.0, 12.1], [100.0, 16.9]]
        least_volts = 4.2
        """;

    // In millimetres, or as inches and sixteenths in quotes, as a tape measure is read.
    private string Length(double min, double max, string sign = "")
    {
        double mm = min + (_random.NextDouble() * (max - min));
        int sixteenths = (int)Math.Round(mm / 25.4 * 16);
        return !_isInches ? sign + Number(mm)
            : sixteenths < 16 ? $"\"{sign}{sixteenths}/16 in\""
            : $"\"{sign}{sixteenths / 16} {sixteenths % 16}/16 in\"";
    }

    private string Pick(params string[] words) => words[_random.Next(words.Length)];

    private static string Number(double value) => value.ToString("0.0##", CultureInfo.InvariantCulture);
}
