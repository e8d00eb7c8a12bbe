// The table [motor] of a rig file: a stepper, a DC gear motor with an encoder, or one without.

using Hourhinge.SharedMath.Geometry;

namespace Hourhinge.Rig;

/// <summary>Reads the motor. A DC motor's speeds come from its measured curve, so it has no speed keys of its
/// own.</summary>
internal static class MotorReader
{
    private static readonly string[] _known =
    [
        "kind", "full_steps", "microsteps", "gearbox", "pull_in_steps_per_sec", "rewind_steps_per_sec",
        "ramp_steps_per_sec2",
        "approach_steps_per_sec", "reversed", "release_when_idle", "counts_per_turn", "bridge", "speed_curve",
        "speed_curve_volts",
        "break_away_percent", "least_volts",
    ];

    /// <summary>Reads the table; <paramref name="gear"/> is the whole train from nut to motor.</summary>
    public static MotorData Read(TomlSection t, GearTrain gear)
    {
        string kind = t.Text("kind", ["stepper", "dc-encoder", "dc"]);
        MotorData motor = kind == "stepper" ? Stepper(t) : Dc(t, gear, kind == "dc-encoder");
        t.RefuseUnread(_known);
        return motor;
    }

    private static MotorData Stepper(TomlSection t)
    {
        int pullIn = t.Whole("pull_in_steps_per_sec", 10, 100000, "microsteps/s");
        return new MotorData(
            t.Whole("full_steps", 4, 1000, "steps a turn"),
            t.Whole("microsteps", 1, 256, "microsteps a step"),
            pullIn,
            t.Whole("rewind_steps_per_sec", 10, 100000, "microsteps/s", pullIn),
            t.Whole("ramp_steps_per_sec2", 10, 10000000, "microsteps/s²", 4 * pullIn),
            t.Whole("approach_steps_per_sec", 1, pullIn, "microsteps/s", Math.Max(1, pullIn / 4)),
            t.Flag("reversed", false),
            t.Flag("release_when_idle", false));
    }

    private static MotorData Dc(TomlSection t, GearTrain gear, bool hasEncoder)
    {
        // Without an encoder the position is reckoned in parts of a motor turn, some two thousand to a nut turn.
        int counts = hasEncoder
            ? t.Whole("counts_per_turn", 1, 100000, "encoder counts a motor turn")
            : (int)Math.Clamp(Math.Ceiling(2000 / gear.Ratio), 1, 1000);
        double volts = t.Number("speed_curve_volts", 1, 60, "V");
        (double DutyPercent, double NutTurnsPerMin)[] curve =
            [.. t.Pairs("speed_curve", 0, 1000, "% and nut turns a minute").Select(p => (p[0], p[1]))];
        bool rises = curve.Length is >= 2 and <= 32 && curve[0].DutyPercent > 0 && curve[^1].DutyPercent <= 100;
        for (int i = 1; i < curve.Length; i++)
        {
            rises &= curve[i].DutyPercent > curve[i - 1].DutyPercent
                && curve[i].NutTurnsPerMin > curve[i - 1].NutTurnsPerMin;
        }

        if (!rises)
        {
            throw t.Wrong("speed_curve",
                "must be 2 to 32 pairs [duty in %, nut turns a minute], both rising, duty 0 to 100; measure it: "
                + "hourhinge calibrate turns");
        }

        double fastest = curve[^1].NutTurnsPerMin / 60 * gear.Ratio * counts;
        if (fastest is < 10 or > 100000)
        {
            throw t.Wrong("speed_curve", $"its end is {fastest:0.#} counts/s; it must be 10 to 100000");
        }

        int speed = (int)fastest;
        return new MotorData(counts, 1, speed, speed, 2 * speed, Math.Max(1, speed / 4),
            t.Flag("reversed", false), true)
        {
            Dc = new DcData(
                hasEncoder,
                t.Flag("bridge", true),
                volts,
                t.Number("least_volts", 1, volts, "V"),
                t.Number("break_away_percent", 0, 100, "% duty", curve[0].DutyPercent),
                curve),
        };
    }
}
