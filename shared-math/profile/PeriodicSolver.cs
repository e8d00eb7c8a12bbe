// The periodic terms of a profile: from the smooth position to the position of the motor. Integers only in the motion
// path; the constructor prepares limits in floating point.

using System;

namespace Hourhinge.SharedMath.Profile;

/// <summary>
/// Version 2: the motor must stand at the n with n + Σ A·(sin(2πn/P + φ) − sin φ) = smooth. All errors are solved
/// together by Newton's method, held inside a bracket by bisection; the left side rises because Σ 2πA/P is below
/// 0.95 (<see cref="ProfileSafety"/>). Version 1: the corrections are explicit sines of the smooth position.
/// </summary>
internal sealed class PeriodicSolver
{
    private const int MaxSteps = 40;
    private const uint QuarterTurn = 1u << 30;

    private readonly DriveProfile _profile;
    private readonly int[] _shift;
    private readonly long[] _reducedPeriod;
    private readonly long[] _slopeQ30;
    private readonly long _swing;
    private readonly long _atStart;
    private readonly long _lastStep;

    /// <summary>Prepares to solve; the profile has terms and passes <see cref="ProfileSafety"/>.</summary>
    public PeriodicSolver(DriveProfile profile)
    {
        _profile = profile;
        int terms = profile.PeriodQ16.Length;
        _shift = new int[terms];
        _reducedPeriod = new long[terms];
        _slopeQ30 = new long[terms];
        double steepness = 0;
        double curvature = 0;
        for (int i = 0; i < terms; i++)
        {
            _reducedPeriod[i] = profile.PeriodQ16[i];
            while (_reducedPeriod[i] >= 1L << 32)
            {
                _reducedPeriod[i] >>= 1;
                _shift[i]++;
            }

            double radPerUnit = 2 * Math.PI / profile.PeriodQ16[i];
            long size = profile.AmplitudeQ16[i] < 0 ? -profile.AmplitudeQ16[i] : profile.AmplitudeQ16[i];
            _slopeQ30[i] = (long)(profile.AmplitudeQ16[i] * radPerUnit * (1L << 30));
            steepness += size * radPerUnit;
            curvature += size * radPerUnit * radPerUnit;
            _swing += size;
        }

        // After a step of d, Newton's error is at most d²·curvature/2 / smallest slope. Stop where that is one unit.
        double last = 0 < curvature ? Math.Sqrt(2 * (1 - steepness) / curvature) : 0;
        _lastStep = !(last < 1e12) ? 1000000000000 : !(1 <= last) ? 1 : (long)last;
        _atStart = SumQ16(0);
    }

    /// <summary>Position of the motor, Q16 counts, for a smooth position; within 2/65536 count of the root of the
    /// integer sum. Does not depend on earlier calls.</summary>
    public long PositionQ16(long smooth)
    {
        if (_profile.Version == DriveProfile.ExplicitTerms)
        {
            return smooth + SumQ16(smooth) - _atStart;
        }

        long due = smooth + _atStart;
        long low = due - _swing;
        long high = due + _swing;
        long position = smooth;
        for (int step = 0; step < MaxSteps; step++)
        {
            long sum = 0;
            long slopeQ30 = 1L << 30;
            for (int i = 0; i < _shift.Length; i++)
            {
                uint angle = Angle(position, i);
                sum += ProfileEvaluator.MultiplyQ30(_profile.AmplitudeQ16[i], IntegerSine.Q30(angle));
                slopeQ30 += ProfileEvaluator.MultiplyQ30(_slopeQ30[i], IntegerSine.Q30(angle + QuarterTurn));
            }

            long excess = position + sum - due;
            if (excess >= 0)
            {
                high = position;
            }
            else
            {
                low = position;
            }

            // The reciprocal of the slope in Q24 stays below 2^29.
            long change = ProfileEvaluator.MultiplyQ30(excess << 6, (1L << 54) / slopeQ30);
            long next = position - change;
            if (next < low || next > high)
            {
                position = low + ((high - low) >> 1);
            }
            else if (change <= _lastStep && change >= -_lastStep)
            {
                return next;
            }
            else
            {
                position = next;
            }
        }

        return position;
    }

    private long SumQ16(long position)
    {
        long sum = 0;
        for (int i = 0; i < _shift.Length; i++)
        {
            sum += ProfileEvaluator.MultiplyQ30(_profile.AmplitudeQ16[i], IntegerSine.Q30(Angle(position, i)));
        }

        return sum;
    }

    // In 2^-32 of a turn, by 2^-30 of a turn. A long period is shortened to 32 bits, so that the shift by 30 fits.
    private uint Angle(long position, int i)
    {
        long inPeriod = (position % _profile.PeriodQ16[i]) >> _shift[i];
        return (uint)(((inPeriod << 30) / _reducedPeriod[i]) << 2) + _profile.Phase[i];
    }
}
