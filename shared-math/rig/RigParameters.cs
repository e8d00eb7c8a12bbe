// What was built, as scaled integers: the parameters that can be edited at the site and from which a profile can be
// compiled on either side of the link. One table says what each is, its unit and its range.
// The host's rig file holds the same and more (cameras, site, calibration). Compiling: RigCompiler.cs.

namespace Hourhinge.SharedMath.Rig;

/// <summary>
/// A rig in numbers. <see cref="Values"/> is indexed by the constants below; a value is in units of 10^-scale of the
/// unit that its name tells (<see cref="Scale"/>): a scale of 6 in mm is a nanometre.
/// </summary>
public sealed class RigParameters
{
    /// <summary>Indices of <see cref="Values"/>. The order is the order in a stored profile: append, never
    /// insert.</summary>
    public const int Form = 0, Opens = 1, NutArm = 2, AnchorArm = 3, BendRadius = 4, Radius = 5, SurfaceOffset = 6,
        TipRadius = 7, Pitch = 8, PitchDivisor = 9, Shortest = 10, Longest = 11, GearNumerator =
        12, GearDenominator = 13,
        Steps = 14, Microsteps = 15, PullIn = 16, Rewind = 17, Ramp = 18, Approach = 19, Reversed = 20, Release = 21,
        HomeSwitch = 22, EndSwitch = 23, BackOff = 24, Follow = 25, RateCorrection = 26, Latitude =
        27, Declination = 28,
        HourAngle = 29, ClockTrim = 30, DriveKind = 31, ForwardOnly = 32, Periodic = 33;

    /// <summary>Periodic errors, each with period, amplitude and phase.</summary>
    public const int MostPeriodic = 3;

    /// <summary>Change of the rate along the travel, behind the periodic errors: see DriveDesign.ChangeRate.</summary>
    public const int RateSlope = Periodic + (3 * MostPeriodic), RateCurve = RateSlope + 1, RateHold = RateSlope + 2;

    /// <summary>Number of values.</summary>
    public const int Count = RateHold + 1;

    /// <summary>Hinge forms: <see cref="Form"/>.</summary>
    public const int StraightRod = 0, BentRod = 1, FixedRod = 2;

    /// <summary>Rates: <see cref="Follow"/>.</summary>
    public const int Stars = 0, RefractedStars = 1, Sun = 2, Moon = 3;

    private const long Mm = 1000000;
    private const long Turns40 = 1L << 40;

    private static readonly string[] _names =
    {
        "hinge form (0 straight rod, 1 bent rod, 2 fixed rod)", "motion (1 opens, 0 closes)", "nut arm in mm",
        "anchor arm in mm", "bend radius in mm", "hinge radius in mm", "surface offset in mm", "tip radius in mm",
        "pitch in mm", "threads in that pitch", "shortest rod in mm", "longest rod in mm",
        "motor turns of the gear", "nut turns of the gear", "steps or counts of a motor turn", "microsteps of a step",
        "pull-in speed in counts/s", "rewind speed in counts/s", "ramp in counts/s2", "approach speed in counts/s",
        "reversed motor (0 or 1)", "release when idle (0 or 1)", "home switch (0 or 1)", "end switch (0 or 1)",
        "back-off in mm", "rate (0 stars, 1 refracted, 2 sun, 3 moon)", "rate correction in ppm", "latitude in degrees",
        "declination in degrees", "hour angle in hours", "clock trim in ppm", "drive kind", "one-way motor (0 or 1)",
        "period in nut turns", "amplitude in micrometres", "phase in degrees", "rate slope in ppm/h",
        "rate curve in ppm/h2", "rate hold in minutes",
    };

    private static readonly int[] _scales =
    {
        0, 0, 6, 6, 6, 6, 6, 6, 6, 0, 6, 6, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 6, 0, 3, 6, 6, 6, 3, 0, 0, 6, 3, 6,
        3, 3, 3,
    };

    private static readonly long[] _least =
    {
        0, 0, 20 * Mm, 20 * Mm, 20 * Mm, 20 * Mm, -500 * Mm, 0, Mm / 10, 1, -500 * Mm, -500 * Mm, 1, 1, 1, 1, 1,
        1, 1, 1,
        0, 0, 0, 0, Mm / 20, 0, -50000000, -90 * Mm, -89 * Mm, -12 * Mm, -10000000, 0, 0, Mm / 100, -1000000, -360 * Mm,
        -10000000, -10000000, 0,
    };

    private static readonly long[] _most =
    {
        2, 1, 2000 * Mm, 2000 * Mm, 20000 * Mm, 2000 * Mm, 500 * Mm, 50 * Mm, 26 * Mm, 1000, 2000 * Mm, 2000 * Mm,
        Turns40,
        Turns40, 1000000, 256, 100000, 100000, 10000000, 100000, 1, 1, 1, 1, 20 * Mm, 3, 50000000, 90 * Mm, 89 * Mm,
        12 * Mm,
        10000000, 2, 1, 1000 * Mm, 1000000, 360 * Mm, 10000000, 10000000, 720000,
    };

    // A straight quarter-inch rod on two arms, a 200-step motor on the nut: something that compiles, to be edited.
    private static readonly long[] _defaults =
    {
        0, 1, 290 * Mm, 290 * Mm, 290 * Mm, 290 * Mm, 0, 0, 25400000, 20, 20 * Mm, 150 * Mm, 1, 1, 200, 16, 1600,
        1600, 6400,
        400, 0, 0, 0, 0, Mm / 2, 0, 0, 0, 0, 0, 0, 0, 0, Mm, 0, 0, 0, 0, 0,
    };

    /// <summary>The values; a copy of the defaults at first.</summary>
    public readonly long[] Values = new long[Count];

    /// <summary>A rig with the default values.</summary>
    public RigParameters()
    {
        for (int i = 0; i < Count; i++)
        {
            Values[i] = _defaults[Row(i)];
        }
    }

    /// <summary>What a value is, with its unit.</summary>
    public static string Name(int index) => _names[Row(index)];

    /// <summary>Decimals of a value's unit that the integer holds.</summary>
    public static int Scale(int index) => _scales[Row(index)];

    /// <summary>Least legal value.</summary>
    public static long Least(int index) => _least[Row(index)];

    /// <summary>Largest legal value.</summary>
    public static long Most(int index) => _most[Row(index)];

    /// <summary>A value in its unit.</summary>
    public double InUnits(int index)
    {
        int scale = _scales[Row(index)];
        return scale == 6 ? Values[index] / 1e6 : scale == 3 ? Values[index] / 1e3 : Values[index];
    }

    /// <summary>The same rig once more.</summary>
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
            if (Values[i] < Least(i) || Values[i] > Most(i))
            {
                return Name(i) + " must be " + Text(Least(i), Scale(i)) + " to " + Text(Most(i), Scale(i));
            }
        }

        return null;
    }

    /// <summary>A scaled integer as decimal text without needless zeros; the small runtime's own cannot be
    /// trusted.</summary>
    public static string Text(long value, int scale)
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

    private static int Row(int index) => index < Periodic ? index
        : index < RateSlope ? Periodic + ((index - Periodic) % 3)
        : index - (3 * (MostPeriodic - 1));
}
