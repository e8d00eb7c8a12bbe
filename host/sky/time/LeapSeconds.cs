// TAI - UTC by date. Source: IERS Bulletin C (the table as announced there, last entry 2017-01-01).
// Checked entry by entry against erfa.dat in tests/reference/sky/leap-seconds.csv.
namespace Hourhinge.Sky.Time;

internal static class LeapSeconds
{
    private const double TtMinusTaiSeconds = 32.184;
    private const int CountIn1972 = 10;

    // Each step adds one second from 0 h UTC of the day named, written year and month.
    private static readonly int[] _steps =
    {
        197207, 197301, 197401, 197501, 197601, 197701, 197801, 197901, 198001, 198107, 198207, 198307, 198507,
        198801, 199001, 199101, 199207, 199307, 199407, 199601, 199707, 199901, 200601, 200901, 201207, 201507,
        201701,
    };

    private static readonly double[] _stepDays = Array.ConvertAll(_steps, s =>
        (new DateTime(s / 100, s % 100, 1, 0, 0, 0, DateTimeKind.Utc)
            - new DateTime(2000, 1, 1, 12, 0, 0, DateTimeKind.Utc)).TotalDays);

    /// <summary>TT - UTC in seconds for UTC days since J2000.0, from 1972 on.</summary>
    public static double TtMinusUtcSeconds(double utcDays)
    {
        int passed = Array.BinarySearch(_stepDays, utcDays);
        return TtMinusTaiSeconds + CountIn1972 + (passed >= 0 ? passed + 1 : ~passed);
    }
}
