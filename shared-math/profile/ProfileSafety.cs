// The last check before a profile may move a motor: a correct CRC does not make its contents valid.

namespace Hourhinge.SharedMath.Profile;

/// <summary>Checks that a profile is within the range of the evaluator's arithmetic and within the motor's pull-in
/// rate.</summary>
public static class ProfileSafety
{
    /// <summary>Largest position, counts: 2^40, so that Q16 stays far within 63 bits.</summary>
    public const long MaxCounts = 1L << 40;

    private const long MaxQ16 = MaxCounts << DriveProfile.FractionBits;
    private const int KnownFlags = 63;

    /// <summary>Periods and amplitudes of periodic terms stay below these, Q16 counts: the solver's products then fit
    /// in 63 bits.</summary>
    public const long PeriodLimit = 1L << 52, AmplitudeLimit = 1L << 40;

    /// <summary>Null when the profile is safe to run; otherwise an error text.</summary>
    public static string Check(DriveProfile p)
    {
        if (p.DriveKind < DriveProfile.Stepper || p.DriveKind > DriveProfile.DcOpenLoop)
        {
            return "drive kind " + p.DriveKind + " is unknown";
        }

        if ((p.Flags & ~KnownFlags) != 0)
        {
            return "the profile has unknown flags";
        }

        if (p.Counts <= 0 || p.Counts > MaxCounts || p.NutTurns <= 0 || p.NutTurns > MaxCounts)
        {
            return "the counts per nut turn are out of range";
        }

        if (p.PullInCountsPerSec < 1 || p.PullInCountsPerSec > 100000
            || p.RewindCountsPerSec < 1 || p.RewindCountsPerSec > 100000
            || p.ApproachCountsPerSec < 1 || p.ApproachCountsPerSec > p.PullInCountsPerSec
            || p.RampCountsPerSec2 < 1 || p.RampCountsPerSec2 > 10000000
            || p.BackOffCounts < 0 || p.BackOffCounts > 1000000)
        {
            return "a rewind speed, ramp or back-off is out of range";
        }

        if (p.ClockTrimPpb < -10000000 || p.ClockTrimPpb > 10000000)
        {
            return "the clock trim is beyond 10000 ppm";
        }

        if (p.MicroArcsecPerCount < 1)
        {
            return "the angle of one count is not positive";
        }

        return CheckDc(p) ?? CheckTerms(p) ?? CheckSegments(p) ?? p.Rig?.Check() ?? p.Shutter?.Check();
    }

    private static string CheckDc(DriveProfile p)
    {
        if (p.DriveKind == DriveProfile.Stepper)
        {
            return p.Dc == null ? null : "a stepper has no DC settings";
        }

        DcSettings dc = p.Dc;
        if (dc == null || dc.CurveDuty.Length < 2)
        {
            return "a DC drive needs a speed curve of at least two points";
        }

        if (dc.CurveMillivolts < 1000 || dc.CurveMillivolts > 60000
            || dc.MinMillivolts < 0 || dc.MinMillivolts > dc.CurveMillivolts
            || dc.BreakAwayDuty < 0 || dc.BreakAwayDuty > 10000
            || dc.ProportionalQ8 < 0 || dc.ProportionalQ8 > 1 << 24
            || dc.IntegralQ8 < 0 || dc.IntegralQ8 > 1 << 24)
        {
            return "a DC setting is out of range";
        }

        for (int i = 0; i < dc.CurveDuty.Length; i++)
        {
            int previousDuty = i == 0 ? 0 : dc.CurveDuty[i - 1];
            int previousSpeed = i == 0 ? -1 : dc.CurveMilliCountsPerSec[i - 1];
            if (dc.CurveDuty[i] <= previousDuty || dc.CurveDuty[i] > 10000
                || dc.CurveMilliCountsPerSec[i] <= previousSpeed || dc.CurveMilliCountsPerSec[i] > 1 << 30)
            {
                return "the DC speed curve does not rise";
            }
        }

        return null;
    }

    private static string CheckTerms(DriveProfile p)
    {
        if (p.PeriodQ16.Length > 9)
        {
            return "more than nine periodic terms";
        }

        for (int i = 0; i < p.PeriodQ16.Length; i++)
        {
            // Both signs: the smallest integer has no positive counterpart.
            if (p.PeriodQ16[i] < DriveProfile.OneCount || p.PeriodQ16[i] >= PeriodLimit
                || p.AmplitudeQ16[i] >= AmplitudeLimit || p.AmplitudeQ16[i] <= -AmplitudeLimit)
            {
                return "a periodic term is out of range";
            }
        }

        return MaxSteepnessPerThousand(p) > (p.Version == DriveProfile.ExplicitTerms ? 900 : 950)
            ? "the periodic terms would turn the motor back" : null;
    }

    // Upper bound of the terms' summed slope, in 1/1000 of the smooth rate, rounded up: 2π < 6284/1000.
    private static long MaxSteepnessPerThousand(DriveProfile p)
    {
        long steepest = 0;
        for (int i = 0; i < p.PeriodQ16.Length; i++)
        {
            long amplitude = p.AmplitudeQ16[i] < 0 ? -(long)p.AmplitudeQ16[i] : p.AmplitudeQ16[i];
            steepest += amplitude == 0 ? 0 : (amplitude * 6284 / p.PeriodQ16[i]) + 1;
        }

        return steepest;
    }

    private static string CheckSegments(DriveProfile p)
    {
        int segments = p.DurationMs.Length;
        if (segments < 1 || segments > DriveProfile.MaxSegments)
        {
            return "a profile has 1 to 128 segments";
        }

        long end = 0;
        for (int i = 0; i < segments; i++)
        {
            if (p.DurationMs[i] < 1 || p.DurationMs[i] > DriveProfile.MaxSegmentMs)
            {
                return "a segment's duration is out of range";
            }

            if (p.Start[i] < 0 || p.Start[i] > MaxQ16 || !IsCoefficient(p.Linear[i])
                || p.Linear[i] < 0 || !IsCoefficient(p.Square[i]) || !IsCoefficient(p.Cube[i]))
            {
                return "a segment's coefficient is out of range";
            }

            // The compiler joins segments exactly, so a gap, or a start other than 0, is invalid.
            if (p.Start[i] != end)
            {
                return "the position jumps between two segments";
            }

            if (!IsSlopeAllowed(p, i))
            {
                return "the position falls, or rises faster than the motor's pull-in rate";
            }

            end = p.Start[i] + p.Linear[i] + p.Square[i] + p.Cube[i];
        }

        return null;
    }

    private static bool IsCoefficient(long value) =>
        value < DriveProfile.CoefficientLimit && value > -DriveProfile.CoefficientLimit;

    // The slope linear + 2·square·u + 3·cube·u² is a parabola: its smallest and largest values over 0..1 are at the
    // ends or at its vertex. All in Q16 counts over the segment; none may be negative or faster than pull-in.
    // Coefficients beyond 31 bits lose their last bits, so that the vertex's square fits in 63 bits; what that can
    // change is allowed for.
    private static bool IsSlopeAllowed(DriveProfile p, int i)
    {
        long linear = p.Linear[i];
        long square = p.Square[i];
        long cube = p.Cube[i];
        long atEnd = linear + (2 * square) + (3 * cube);
        int shift = 0;
        while (square >> shift >= 1L << 31 || square >> shift < -(1L << 31))
        {
            shift++;
        }

        long square31 = square >> shift;
        long cube31 = cube >> shift;
        bool vertexInside = cube31 != 0
            && ((cube > 0) ? (square < 0 && -square < 3 * cube) : (square > 0 && square < -3 * cube));
        long margin = shift == 0 ? 0 : 8L << shift;
        long atVertex = vertexInside ? linear - ((square31 * square31 / (3 * cube31)) << shift) : linear;
        long fastest = FastestQ16(p, i) - margin;
        return linear >= 0 && atEnd >= 0 && atVertex >= margin
            && linear <= fastest && atEnd <= fastest && atVertex <= fastest;
    }

    // Largest slope of the segments at which the motor keeps within pull-in. Explicit terms of steepness e raise the
    // rate by 1 + e; solved ones by 1 / (1 − e).
    private static long FastestQ16(DriveProfile p, int i)
    {
        long fastest = (long)p.PullInCountsPerSec * p.DurationMs[i] * DriveProfile.OneCount;
        long steepness = MaxSteepnessPerThousand(p);
        return p.Version == DriveProfile.ExplicitTerms
            ? fastest / (1000 + steepness)
            : fastest / 1000 * (1000 - steepness) / 1000;
    }
}
