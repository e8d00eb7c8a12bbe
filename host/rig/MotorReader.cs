// The table [motor] of a rig file: a stepper, a DC gear motor with an encoder, or one without.

using Hourhinge.SharedMath.Geometry;
using Hourhinge.SharedMath.Rig;

namespace Hourhinge.Rig;

/// <summary>Reads the motor. A DC motor's speeds come from its measured curve, so it has no speed keys of its
/// own.</summary>
internal static class MotorReader
{
    /// <summary>Reads the table; <paramref name="gear"/> is the whole train from nut to motor.</summary>
    public static MotorData Read(TomlSection t, GearTrain gear)
    {
        string kind = t.ReadText("kind");
        MotorData motor = kind == "stepper" ? Stepper(t) : Dc(t, gear, kind == "dc-encoder");
        t.RejectUnread();
        return motor;
    }

    private static MotorData Stepper(TomlSection t)
    {
        int pullIn = t.ReadInteger("pull_in_steps_per_sec");
        return new MotorData(
            t.ReadInteger("full_steps"),
            t.ReadInteger("microsteps"),
            pullIn,
            t.ReadInteger("rewind_steps_per_sec", absent: pullIn),
            t.ReadInteger("ramp_steps_per_sec2", absent: 4 * pullIn),
            t.ReadInteger("approach_steps_per_sec", pullIn, Math.Max(1, pullIn / 4)),
            t.ReadFlag("reversed"),
            t.ReadFlag("release_when_idle"));
    }

    private static MotorData Dc(TomlSection t, GearTrain gear, bool hasEncoder)
    {
        // Without an encoder the position is computed in fractions of a motor turn, about 2000 to a nut turn.
        int counts = hasEncoder
            ? t.ReadInteger("counts_per_turn")
            : (int)Math.Clamp(Math.Ceiling(2000 / gear.Ratio), 1, 1000);
        double volts = t.ReadNumber("speed_curve_volts");
        (double DutyPercent, double NutTurnsPerMin)[] curve =
            [.. t.ReadPairs("speed_curve").Select(p => (p[0], p[1]))];
        bool rises = curve.Length is >= 2 and <= 32 && curve[0].DutyPercent > 0 && curve[^1].DutyPercent <= 100;
        for (int i = 1; i < curve.Length; i++)
        {
            rises &= curve[i].DutyPercent > curve[i - 1].DutyPercent
                && curve[i].NutTurnsPerMin > curve[i - 1].NutTurnsPerMin;
        }

        if (!rises)
        {
            throw t.ErrorAt("speed_curve",
                "must be 2 to 32 pairs [duty in %, nut turns a minute], both rising, duty 0 to 100; measure it: "
                + "hourhinge calibrate turns");
        }

        double fastest = curve[^1].NutTurnsPerMin / 60 * gear.Ratio * counts;
        RigKey speeds = RigParameters.KeyOf(RigParameters.PullIn);
        if (!(fastest >= speeds.Min && fastest <= speeds.Max))
        {
            throw t.ErrorAt("speed_curve", $"its end is {fastest:0.#} counts/s; it must be {speeds.Range()}");
        }

        int speed = (int)fastest;
        return new MotorData(counts, 1, speed, speed, 2 * speed, Math.Max(1, speed / 4),
            t.ReadFlag("reversed"), true)
        {
            Dc = new DcData(
                hasEncoder,
                t.ReadFlag("bridge"),
                volts,
                t.ReadNumber("least_volts", volts),
                t.ReadNumber("break_away_percent", absent: curve[0].DutyPercent),
                curve),
        };
    }
}
