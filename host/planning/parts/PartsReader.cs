// File of parts to PartsBox. Keys and ranges: PartsKeys.cs. Here: what belongs together.

using System.Text;
using Hourhinge.Rig;
using Hourhinge.SharedMath.Geometry;
using Hourhinge.SharedMath.Profile;

namespace Hourhinge.Planning.Parts;

/// <summary>Reads files of parts. Everything wrong is a <see cref="RigFileException"/> that names key, value, range and
/// place.</summary>
public static class PartsReader
{
    /// <summary>Largest file.</summary>
    public const int MaxFileBytes = 65536;

    /// <summary>Most rods, motors and wheels that are combined.</summary>
    public const int MaxRods = 8, MaxMotors = 8, MaxWheels = 16;

    private static readonly double[] _usualMicrosteps = [1, 2, 4, 8, 16];

    /// <summary>Reads a file.</summary>
    public static PartsBox ReadFile(string path)
    {
        byte[] bytes = BoundedFile.Read(path, MaxFileBytes, out string problem)
            ?? throw new RigFileException($"{path}: cannot read the file of parts: {problem}.");
        try
        {
            return Read(path, new UTF8Encoding(false, true).GetString(bytes));
        }
        catch (ArgumentException)
        {
            throw new RigFileException($"{path}: not TOML: the file is not UTF-8 text.");
        }
    }

    /// <summary>Reads the text of a file; <paramref name="file"/> is its name for error messages.</summary>
    public static PartsBox Read(string file, string text)
    {
        Func<string, IReadOnlyList<TomlSection>> tables = TomlSection.Parse(file, text, PartsKeys.All);
        TomlSection One(string name) => tables(name)[0];
        IReadOnlyList<TomlSection> Many(string name, int max)
        {
            IReadOnlyList<TomlSection> list = tables(name + "[]");
            return list.Count == 0
                ? throw new RigFileException($"{file}: there is no table [[{name}]]: name at least one {name}, at "
                    + $"most {max}.")
                : list.Count <= max ? list
                : throw new RigFileException($"{file}: there are {list.Count} tables [[{name}]]; at most {max} are "
                    + "combined.");
        }

        TomlSection top = One("");
        string name = top.ReadText("name");
        if (name.Length is 0 or > ProfileCodec.MaxNameLength || name.Any(c => c is < ' ' or > '~' or '"'))
        {
            throw top.ErrorAt("name", "must be 1 to 31 printable ASCII characters without quotes");
        }

        top.RejectUnread();
        TomlSection wanted = One("wanted");
        var wishes = new Wishes(
            wanted.ReadNumber("travel_min"), wanted.ReadNumber("error_px"), wanted.ReadNumber("pack_hours"));
        wanted.RejectUnread();
        TomlSection boards = One("boards");
        double board = boards.ReadNumber("length_mm");
        bool third = boards.ReadFlag("third");
        boards.RejectUnread();
        return new PartsBox(
            name, wishes, ReadCamera(One("camera")), board, third,
            [.. Many("rod", MaxRods).Select(ReadRod)], ReadWheels(One("wheels")),
            [.. Many("motor", MaxMotors).Select(ReadMotor)], ReadPack(One("pack")));
    }

    private static CameraLoad ReadCamera(TomlSection t)
    {
        var camera = new CameraLoad(
            t.ReadNumber("pixel_um"), t.ReadInteger("width_px"), t.ReadInteger("height_px"),
            t.ReadNumber("lens_mm"), t.ReadNumber("mass_kg"), t.ReadNumber("lever_mm"));
        t.RejectUnread();
        return camera;
    }

    private static RodPart ReadRod(TomlSection t)
    {
        string thread = t.ReadText("thread");
        double pitch = Optional(t, "pitch_mm") ?? ThreadTable.PitchMm(thread);
        if (pitch == 0)
        {
            throw t.ErrorAt("thread", thread.Length == 0
                ? "is missing: give a thread such as \"M6\" or \"1/4-20\", or pitch_mm and diameter_mm"
                : $"no such thread in ISO 261 or ASME B1.1; known are {ThreadTable.KnownDesignations()}; or give a "
                    + "measured pitch_mm and diameter_mm");
        }

        double diameter = Optional(t, "diameter_mm") ?? ScrewStatics.MajorDiameterMm(thread);
        if (!(diameter > 0))
        {
            throw t.ErrorAt("diameter_mm", "is missing: a rod without a thread's name needs it, 2 to 30 mm");
        }

        if (!(pitch <= diameter / 2))
        {
            throw t.ErrorAt(t.Has("pitch_mm") ? "pitch_mm" : "diameter_mm",
                $"a pitch of {pitch:0.####} mm does not fit a diameter of {diameter:0.####} mm; it must be up to half "
                + "of it");
        }

        var rod = new RodPart(thread, pitch, diameter, t.ReadNumber("length_mm"), t.ReadFlag("bendable"))
        {
            BendRadiusMm = Optional(t, "bend_radius_mm") ?? 0,
        };
        t.RejectUnread();
        return rod;
    }

    private static int[] ReadWheels(TomlSection t)
    {
        double[] teeth = t.ReadNumbers("teeth");
        if (teeth.Any(n => n != Math.Floor(n)) || teeth.Length > MaxWheels)
        {
            throw t.ErrorAt("teeth", $"must be up to {MaxWheels} whole numbers, 6 to 1000 teeth");
        }

        t.RejectUnread();
        return [.. teeth.Select(n => (int)n)];
    }

    private static MotorPart ReadMotor(TomlSection t)
    {
        string name = t.ReadText("name");
        string kind = t.ReadText("kind");
        double[][] gearbox = t.ReadPairs("gearbox");
        var train = new GearTrain(1, 1);
        foreach (double[] pair in gearbox)
        {
            train = pair.All(n => n == Math.Floor(n))
                ? train.WithPair((int)pair[0], (int)pair[1])
                    ?? throw t.ErrorAt("gearbox", "the ratio as a fraction has become too large (beyond 2^40)")
                : throw t.ErrorAt("gearbox", "tooth counts must be whole numbers, 1 to 10000 teeth");
        }

        int[][] pairs = [.. gearbox.Select(p => new[] { (int)p[0], (int)p[1] })];
        MotorPart motor = kind == "stepper" ? ReadStepper(t, name, pairs) : ReadDc(t, name, pairs, kind);
        t.RejectUnread();
        return motor;
    }

    private static StepperPart ReadStepper(TomlSection t, string name, int[][] gearbox)
    {
        double[] settings = t.Has("microsteps") ? t.ReadNumbers("microsteps") : _usualMicrosteps;
        if (settings.Length is 0 or > 16 || settings.Any(n => n != Math.Floor(n)))
        {
            throw t.ErrorAt("microsteps", "must be 1 to 16 whole numbers, 1 to 256 microsteps a step");
        }

        return new StepperPart(
            name, gearbox, t.ReadInteger("full_steps"), [.. settings.Select(n => (int)n).Distinct().Order()],
            t.ReadNumber("pull_in_full_steps_per_sec"), t.ReadNumber("holding_torque_mnm"), t.ReadNumber("supply_ma"));
    }

    private static DcPart ReadDc(TomlSection t, string name, int[][] gearbox, string kind)
    {
        var motor = new DcPart(
            name, gearbox, kind == "dc" ? 0 : t.ReadInteger("counts_per_turn"), t.ReadNumber("volts"),
            t.ReadNumber("no_load_rpm"), t.ReadNumber("stall_torque_mnm"), t.ReadNumber("no_load_ma"),
            t.ReadNumber("stall_ma"));
        return motor.NoLoadMa < motor.StallMa
            ? motor
            : throw t.ErrorAt("no_load_ma", $"must be less than stall_ma = {motor.StallMa:0.###}");
    }

    private static PackPart ReadPack(TomlSection t)
    {
        double volts = t.ReadNumber("volts");
        var pack = new PackPart(
            volts, t.ReadNumber("mah"), Optional(t, "label_volts") ?? volts, t.ReadNumber("controller_ma"));
        t.RejectUnread();
        return pack;
    }

    private static double? Optional(TomlSection t, string key) => t.Has(key) ? t.ReadNumber(key) : null;
}
