// A moment on the time scales UTC, TT and UT1.
// Not here: sidereal time (SiderealTime.cs), calendars beyond DateTimeOffset.
namespace Hourhinge.Sky.Time;

/// <summary>A moment, stored as UTC days since J2000.0 (2000-01-01 12:00), good to 1 microsecond.</summary>
/// <remarks>
/// UT1 is taken as UTC + <see cref="Dut1Seconds"/>. With zero the error is at most 0.9 s of Earth rotation
/// (13.5 arcsec in hour angle on the equator, by the definition of UTC); IERS Bulletin A publishes the value,
/// which stayed within 0.25 s (4 arcsec) from 2017 to 2025 (common practice, no source).
/// TT is UTC + leap seconds + 32.184 s; an error of 1 s there moves the moon by 0.5 arcsec, stars not at all.
/// Leap seconds after that of 2017 are not known to this code.
/// </remarks>
public readonly record struct Instant : IComparable<Instant>
{
    public const double DaysPerCentury = 36525.0;

    private static readonly DateTimeOffset _j2000 = new DateTimeOffset(2000, 1, 1, 12, 0, 0, TimeSpan.Zero);
    private static readonly DateTimeOffset _first = new DateTimeOffset(1972, 1, 1, 0, 0, 0, TimeSpan.Zero);
    private static readonly DateTimeOffset _last = new DateTimeOffset(2101, 1, 1, 0, 0, 0, TimeSpan.Zero);

    private Instant(double daysSinceJ2000, double dut1Seconds)
    {
        UtcDays = daysSinceJ2000;
        Dut1Seconds = dut1Seconds;
    }

    /// <summary>UTC days since J2000.0.</summary>
    public double UtcDays { get; }

    /// <summary>UT1 - UTC in seconds.</summary>
    public double Dut1Seconds { get; }

    /// <summary>UT1 days since J2000.0.</summary>
    public double Ut1Days => UtcDays + (Dut1Seconds / 86400.0);

    /// <summary>TT days since J2000.0.</summary>
    public double TtDays => UtcDays + (LeapSeconds.TtMinusUtcSeconds(UtcDays) / 86400.0);

    /// <summary>Julian centuries of TT since J2000.0.</summary>
    public double TtCenturies => TtDays / DaysPerCentury;

    /// <summary>The moment of a civil time.</summary>
    /// <param name="utc">Any offset; years 1972 to 2100.</param>
    /// <param name="dut1Seconds">UT1 - UTC, -0.9 to 0.9 s.</param>
    /// <exception cref="ArgumentOutOfRangeException">The time or dut1 is out of range.</exception>
    public static Instant FromUtc(DateTimeOffset utc, double dut1Seconds = 0)
    {
        if (utc < _first || utc >= _last)
        {
            throw new ArgumentOutOfRangeException(nameof(utc), utc, "The time must lie in the years 1972 to 2100.");
        }

        if (!(Math.Abs(dut1Seconds) <= 0.9))
        {
            throw new ArgumentOutOfRangeException(nameof(dut1Seconds), dut1Seconds,
                "UT1 - UTC must lie between -0.9 and 0.9 s.");
        }

        return new Instant((utc - _j2000).Ticks / (double)TimeSpan.TicksPerDay, dut1Seconds);
    }

    public DateTimeOffset ToUtc() => _j2000.AddTicks((long)Math.Round(UtcDays * TimeSpan.TicksPerDay));

    public Instant PlusDays(double days) => new Instant(UtcDays + days, Dut1Seconds);

    public Instant PlusHours(double hours) => PlusDays(hours / 24.0);

    public Instant PlusMinutes(double minutes) => PlusDays(minutes / 1440.0);

    public Instant PlusSeconds(double seconds) => PlusDays(seconds / 86400.0);

    public double MinutesSince(Instant earlier) => (UtcDays - earlier.UtcDays) * 1440.0;

    public int CompareTo(Instant other) => UtcDays.CompareTo(other.UtcDays);

    public static bool operator <(Instant a, Instant b) => a.UtcDays < b.UtcDays;
    public static bool operator >(Instant a, Instant b) => a.UtcDays > b.UtcDays;
    public static bool operator <=(Instant a, Instant b) => a.UtcDays <= b.UtcDays;
    public static bool operator >=(Instant a, Instant b) => a.UtcDays >= b.UtcDays;
}
