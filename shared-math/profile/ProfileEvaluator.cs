// Computes the due position with 64-bit integers only. This is the motion path: no floating point and no allocation.
// One evaluation takes one 64-bit division. Periodic errors add two or three Newton steps (PeriodicSolver.cs).

namespace Hourhinge.SharedMath.Profile;

/// <summary>
/// Evaluates one profile. It caches the segment of the last call, so an instance belongs to one thread; times may
/// come in any order.
/// </summary>
public sealed class ProfileEvaluator
{
    private const int UBits = 30;

    private readonly DriveProfile _profile;
    private readonly long[] _startUs;
    private readonly PeriodicSolver _periodic;
    private int _segment;

    /// <summary>Evaluates a decoded or compiled profile.</summary>
    public ProfileEvaluator(DriveProfile profile)
    {
        _profile = profile;
        _startUs = new long[profile.DurationMs.Length + 1];
        for (int i = 0; i < profile.DurationMs.Length; i++)
        {
            _startUs[i + 1] = _startUs[i] + (profile.DurationMs[i] * 1000L);
        }

        _periodic = profile.PeriodQ16.Length == 0 ? null : new PeriodicSolver(profile);
        EndUs = _startUs[profile.DurationMs.Length];
        EndQ16 = PositionQ16(EndUs);
    }

    /// <summary>End of the travel, microseconds since the start.</summary>
    public long EndUs { get; }

    /// <summary>Position at the end of the travel, Q16 counts.</summary>
    public long EndQ16 { get; }

    /// <summary>
    /// Position due, Q16 counts: 0 before the start, the end position after the end.
    /// Within 4/65536 count of the exact polynomial (three truncating shifts), plus u's last bit: the coefficients'
    /// 2^-30.
    /// </summary>
    public long PositionQ16(long timeUs)
    {
        long smooth = SmoothQ16(timeUs);
        return _periodic == null ? smooth : _periodic.PositionQ16(smooth);
    }

    /// <summary>The due count: the integer nearest to the position.</summary>
    public long CountsDue(long timeUs) =>
        (PositionQ16(timeUs) + (DriveProfile.OneCount / 2)) >> DriveProfile.FractionBits;

    /// <summary>
    /// The moment, microseconds since the start, at which the profile first reaches a position; the end of travel
    /// when it never does. Bisection, about 35 evaluations: for resuming from a declared position.
    /// </summary>
    public long TimeAtQ16(long positionQ16)
    {
        long low = 0;
        long high = EndUs;
        while (high - low > 1)
        {
            long mid = (low + high) >> 1;
            if (PositionQ16(mid) < positionQ16)
            {
                low = mid;
            }
            else
            {
                high = mid;
            }
        }

        return PositionQ16(low) >= positionQ16 ? low : high;
    }

    private long SmoothQ16(long timeUs)
    {
        if (timeUs <= 0)
        {
            return _profile.Start[0];
        }

        int last = _profile.DurationMs.Length - 1;
        if (timeUs >= _startUs[last + 1])
        {
            timeUs = _startUs[last + 1];
        }

        while (_segment > 0 && timeUs < _startUs[_segment])
        {
            _segment--;
        }

        while (_segment < last && timeUs >= _startUs[_segment + 1])
        {
            _segment++;
        }

        int s = _segment;
        long u = U(timeUs - _startUs[s], _profile.DurationMs[s] * 1000L);
        return Polynomial(_profile.Start[s], _profile.Linear[s], _profile.Square[s], _profile.Cube[s], u);
    }

    // The one place where a segment's polynomial is evaluated; the compiler measures itself against it.
    internal static long Polynomial(long start, long linear, long square, long cube, long u)
    {
        long sum = MultiplyQ30(cube, u) + square;
        sum = MultiplyQ30(sum, u) + linear;
        return MultiplyQ30(sum, u) + start;
    }

    /// <summary>a·b / 2^30, rounded down, exactly: |a| below 2^48, |b| at most 2^30.</summary>
    internal static long MultiplyQ30(long a, long b)
    {
        if (a < 1L << 32 && a > -(1L << 32))
        {
            return (a * b) >> 30;
        }

        long high = (a >> 16) * b;
        return (high >> 14) + ((((high & 0x3FFF) << 16) + ((a & 0xFFFF) * b)) >> 30);
    }

    internal static long U(long elapsedUs, long durationUs) => (elapsedUs << UBits) / durationUs;
}
