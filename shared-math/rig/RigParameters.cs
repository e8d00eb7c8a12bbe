// What was built, as scaled integers: the parameters that can be edited at the site and from which a profile can be
// compiled on either side of the link. One table says what each is, its unit and its range; the controller's RIG
// commands, the rig file's reader, its template and host/rig/KEYS.md come from it. Compiling: RigCompiler.cs.

using System;

namespace Hourhinge.SharedMath.Rig;

/// <summary>
/// A rig in numbers. <see cref="Values"/> is indexed by the constants below; a value is in units of 10^-scale of
/// its unit (<see cref="RigKey.Scale"/>).
/// </summary>
public sealed class RigParameters
{
    /// <summary>Indices of <see cref="Values"/>. The order is the order in a stored profile: append, never
    /// insert.</summary>
    public const int Form = 0, Opens = 1, NutArm = 2, AnchorArm = 3, BendRadius = 4, Radius = 5, SurfaceOffset = 6,
        TipRadius = 7, Pitch = 8, PitchDivisor = 9, Shortest = 10, Longest = 11, GearNumerator = 12,
        GearDenominator = 13, Steps = 14, Microsteps = 15, PullIn = 16, Rewind = 17, Ramp = 18, Approach = 19,
        Reversed = 20, Release = 21, HomeSwitch = 22, EndSwitch = 23, BackOff = 24, Follow = 25, RateCorrection = 26,
        Latitude = 27, Declination = 28, HourAngle = 29, ClockTrim = 30, DriveKind = 31, ForwardOnly = 32,
        Periodic = 33;

    /// <summary>Periodic errors, each with period, amplitude and phase.</summary>
    public const int MaxPeriodic = 3;

    /// <summary>Change of the rate along the travel, behind the periodic errors: see DriveDesign.ChangeRate.</summary>
    public const int RateSlope = Periodic + (3 * MaxPeriodic), RateCurve = RateSlope + 1, RateHold = RateSlope + 2;

    /// <summary>The second arm of a double arm: see DoubleArmHinge.</summary>
    public const int ContactArm = RateHold + 1, HingeDistance = RateHold + 2, HingeHeight = RateHold + 3,
        ContactOffset = RateHold + 4;

    /// <summary>Number of values.</summary>
    public const int Count = ContactOffset + 1;

    /// <summary>Hinge forms: <see cref="Form"/>. The last four are double arms.</summary>
    public const int StraightRod = 0, BentRod = 1, FixedRod = 2, DriveTipStraight = 3, DriveTipFixed = 4,
        CameraTipStraight = 5, CameraTipFixed = 6;

    /// <summary>Rates: <see cref="Follow"/>.</summary>
    public const int Stars = 0, RefractedStars = 1, Sun = 2, Moon = 3;

    private const long Mm = 1000000;
    private const long Degree = 1000000;
    private const long Thousand = 1000;

    // One row a value; the rows of a periodic error serve all of them. The defaults are a straight quarter-inch rod on
    // two arms and a 200-step motor on the nut: a rig that compiles, to be edited.
    private static readonly RigKey[] _keys =
    {
        new RigKey("hinge.form", "RIG:FORM",
            new string[]
            {
                "straight-rod", "bent-rod", "fixed-rod",
                "drive-tip-straight", "drive-tip-fixed", "camera-tip-straight", "camera-tip-fixed",
            },
            new string[] { "STRaight", "BENT", "FIXed", "DSTRaight", "DFIXed", "CSTRaight", "CFIXed" }, StraightRod,
            "straight-rod and bent-rod swivel freely at both ends; fixed-rod is clamped square to one board. A bent "
            + "rod that is clamped at one end is none of these: make that end swivel. Double arms: a rod opens a "
            + "driving arm, and the camera's arm slides on its tip (drive-tip), or it slides on the camera arm's "
            + "(camera-tip)"),
        new RigKey("hinge.motion", "RIG:DIRection", new string[] { "closes", "opens" },
            new string[] { "CLOSes", "OPENs" }, 1, "what the hinge does while it tracks"),
        new RigKey("hinge.nut_arm_mm", "RIG:ARM:NUT", "mm", 6, 20 * Mm, 2000 * Mm, 290 * Mm,
            "hinge axis to the pivot that carries the nut"),
        new RigKey("hinge.anchor_arm_mm", "RIG:ARM:ANCHor", "mm", 6, 20 * Mm, 2000 * Mm, 290 * Mm,
            "hinge axis to the rod's other pivot"),
        new RigKey("hinge.bend_radius_mm", "RIG:BEND", "mm", 6, 20 * Mm, 20000 * Mm, 290 * Mm,
            "radius of the bent rod's centre line"),
        new RigKey("hinge.radius_mm", "RIG:RADius", "mm", 6, 20 * Mm, 2000 * Mm, 290 * Mm,
            "hinge axis to the fixed rod, along the board"),
        new RigKey("hinge.surface_offset_mm", "RIG:OFFSet", "mm", 6, -500 * Mm, 500 * Mm, 0,
            "how far the riding surface lies below the hinge axis"),
        new RigKey("hinge.tip_radius_mm", "RIG:TIP", "mm", 6, 0, 50 * Mm, 0, "radius of the fixed rod's tip"),
        new RigKey("rod.pitch_mm", "RIG:PITCh", "mm", 6, Mm / 10, 26 * Mm, 25400000, "rod travel for one nut turn"),
        new RigKey("threads in rod.pitch_mm", "RIG:PITCh", string.Empty, 0, 1, 1000, 20,
            "threads in that length: 25.4 mm and 20 threads are an exact 1/4-20"),
        new RigKey("rod.shortest_mm", "RIG:ROD:SHORtest", "mm", 6, -500 * Mm, 2000 * Mm, 20 * Mm,
            "shortest rod: start of the travel of a hinge that opens"),
        new RigKey("rod.longest_mm", "RIG:ROD:LONGest", "mm", 6, -500 * Mm, 2000 * Mm, 150 * Mm,
            "longest rod: end of the travel of a hinge that opens"),
        new RigKey("gear numerator", "RIG:GEAR", string.Empty, 0, 1, 1L << 40, 1, "motor turns of the whole train"),
        new RigKey("gear denominator", "RIG:GEAR", string.Empty, 0, 1, 1L << 40, 1, "nut turns of the whole train"),
        new RigKey("motor.full_steps", "RIG:MOTor:STEPs", "counts", 0, 1, 1000000, 200,
            "full steps, or encoder counts, of a motor turn"),
        new RigKey("motor.microsteps", "RIG:MOTor:MICRosteps", "microsteps a step", 0, 1, 256, 16,
            "microsteps of a full step"),
        new RigKey("motor.pull_in_steps_per_sec", "RIG:MOTor:PULLin", "counts/s", 0, 1, 100000, 1600,
            "highest speed at which the motor starts without a ramp"),
        new RigKey("motor.rewind_steps_per_sec", "RIG:MOTor:REWind", "counts/s", 0, 1, 100000, 1600,
            "speed of the fast part of a rewind"),
        new RigKey("motor.ramp_steps_per_sec2", "RIG:MOTor:RAMP", "counts/s2", 0, 1, 10000000, 6400,
            "acceleration of a rewind"),
        new RigKey("motor.approach_steps_per_sec", "RIG:MOTor:APPRoach", "counts/s", 0, 1, 100000, 400,
            "speed of the approach to the home switch; at most the pull-in speed"),
        new RigKey("motor.reversed", "RIG:MOTor:REVersed", string.Empty, 0, 0, 1, 0, "the motor turns the other way"),
        new RigKey("motor.release_when_idle", "RIG:MOTor:RELease", string.Empty, 0, 0, 1, 0,
            "switch the coils off while idle"),
        new RigKey("switches.home", "RIG:SWITch:HOME", string.Empty, 0, 0, 1, 0, "a home switch is fitted"),
        new RigKey("switches.end", "RIG:SWITch:END", string.Empty, 0, 0, 1, 0, "an end switch is fitted"),
        new RigKey("switches.back_off_mm", "RIG:SWITch:BACKoff", "mm", 6, Mm / 20, 20 * Mm, Mm / 2,
            "rod travel back from the home switch before the slow approach"),
        new RigKey("rate.follow", "RIG:RATE", new string[] { "stars", "refracted-stars", "sun", "moon" },
            new string[] { "STARs", "REFRacted", "SUN", "MOON" }, Stars, "which rate to follow"),
        new RigKey("rate.correction_ppm", "RIG:RATE:CORRection", "ppm", 3, -50000 * Thousand, 50000 * Thousand, 0,
            "correction on top of that rate; positive is faster"),
        new RigKey("site.latitude_deg", "RIG:RATE:LATitude", "degrees", 6, -90 * Degree, 90 * Degree, 0,
            "latitude, north positive"),
        new RigKey("rate.declination_deg", "RIG:RATE:DECLination", "degrees", 6, -89 * Degree, 89 * Degree, 0,
            "declination of the target, for refracted stars"),
        new RigKey("rate.hour_angle_h", "RIG:RATE:HOUR", "hours", 6, -12 * Degree, 12 * Degree, 0,
            "hour angle of the target, west positive, for refracted stars"),
        new RigKey("clock.trim_ppm", "RIG:CLOCk", "ppm", 3, -10000 * Thousand, 10000 * Thousand, 0,
            "correction of the controller's clock"),
        new RigKey("motor.kind", null, new string[] { "stepper", "dc-encoder", "dc" }, null, 0,
            "stepper, or DC gear motor with an encoder or without one"),
        new RigKey("one-way motor", "RIG:MOTor:ONEWay", string.Empty, 0, 0, 1, 0, "a DC motor without a bridge"),
        new RigKey("periodic.period_nut_turns", "RIG:PERiodic", "nut turns", 6, Mm / 100, 1000 * Mm, Mm,
            "period of the error"),
        new RigKey("periodic.amplitude_um", "RIG:PERiodic", "micrometres", 3, 0, 1000 * Thousand, 0,
            "amplitude along the rod"),
        new RigKey("periodic.phase_deg", "RIG:PERiodic", "degrees", 6, -360 * Degree, 360 * Degree, 0,
            "phase at the start of the travel"),
        new RigKey("rate.slope_ppm_per_hour", null, "ppm an hour", 3, -10000 * Thousand, 10000 * Thousand, 0,
            "change of the correction along the travel"),
        new RigKey("rate.curve_ppm_per_hour2", null, "ppm an hour squared", 3, -10000 * Thousand, 10000 * Thousand, 0,
            "change of that slope along the travel"),
        new RigKey("rate.hold_min", null, "minutes", 3, 0, 720 * Thousand, 0,
            "time from which the correction stays constant"),
        new RigKey("hinge.contact_arm_mm", "RIG:CONTact:ARM", "mm", 6, 20 * Mm, 2000 * Mm, 200 * Mm,
            "arm with the tip: hinge to tip"),
        new RigKey("hinge.hinge_distance_mm", "RIG:HINGe:DISTance", "mm", 6, -2000 * Mm, 2000 * Mm, -100 * Mm,
            "camera's hinge to the driving arm's; negative: behind it"),
        new RigKey("hinge.hinge_height_mm", "RIG:HINGe:HEIGht", "mm", 6, -500 * Mm, 500 * Mm, 0,
            "driving arm's hinge above the camera's"),
        new RigKey("hinge.contact_offset_mm", "RIG:CONTact:OFFSet", "mm", 6, -200 * Mm, 200 * Mm, 0,
            "tip to the line through the other arm's hinge"),
    };

    /// <summary>The values; a copy of the defaults at first.</summary>
    public readonly long[] Values = new long[Count];

    /// <summary>A rig with the default values.</summary>
    public RigParameters()
    {
        for (int i = 0; i < Count; i++)
        {
            Values[i] = KeyOf(i).Default;
        }
    }

    /// <summary>The row of a value: its name, unit, range and meaning.</summary>
    public static RigKey KeyOf(int index) => _keys[index < Periodic ? index
        : index < RateSlope ? Periodic + ((index - Periodic) % 3)
        : index - (3 * (MaxPeriodic - 1))];

    /// <summary>A value in its unit.</summary>
    public double InUnits(int index)
    {
        int scale = KeyOf(index).Scale;
        return scale == 6 ? Values[index] / 1e6 : scale == 3 ? Values[index] / 1e3 : Values[index];
    }

    /// <summary>Sets a value in its unit, rounded to what the integer holds.</summary>
    public void Set(int index, double value)
    {
        int scale = KeyOf(index).Scale;
        Values[index] = (long)Math.Round(value * (scale == 6 ? 1e6 : scale == 3 ? 1e3 : 1));
    }

    /// <summary>A copy of the rig.</summary>
    public RigParameters Copy()
    {
        RigParameters copy = new RigParameters();
        for (int i = 0; i < Count; i++)
        {
            copy.Values[i] = Values[i];
        }

        return copy;
    }

    /// <summary>Null when every value is in its own range; otherwise which is not.</summary>
    public string Check()
    {
        for (int i = 0; i < Count; i++)
        {
            RigKey key = KeyOf(i);
            if (Values[i] < key.Min || Values[i] > key.Max)
            {
                return key.Key + " must be " + key.Range();
            }
        }

        return null;
    }

    /// <summary>A scaled integer as decimal text without needless zeros; the small runtime's own cannot be
    /// trusted.</summary>
    public static string Format(long value, int scale)
    {
        string sign = value < 0 ? "-" : string.Empty;
        string digits = (value < 0 ? -value : value).ToString();
        while (digits.Length <= scale)
        {
            digits = "0" + digits;
        }

        string fraction = digits.Substring(digits.Length - scale).TrimEnd('0');
        return sign + digits.Substring(0, digits.Length - scale)
            + (fraction.Length == 0 ? string.Empty : "." + fraction);
    }
}
