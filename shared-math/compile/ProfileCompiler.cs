// Turns the closed form of a drive into a profile of integers, and proves the error of the result before it returns it.

using System;
using Hourhinge.SharedMath.Geometry;
using Hourhinge.SharedMath.Profile;

namespace Hourhinge.SharedMath.Compile;

/// <summary>
/// Fits cubic Hermite segments (value and slope exact at both ends, so the rate has no steps), each as long as the
/// tolerance allows, and measures the integer evaluator against the closed form. Runs on the host and on the
/// controller; the caller looks at <see cref="Error"/>, nothing is thrown.
/// </summary>
public sealed class ProfileCompiler
{
    /// <summary>A profile whose proved error exceeds this is never emitted, counts.</summary>
    public const double MaxErrorCounts = 0.01;

    /// <summary>Most segments in a profile.</summary>
    public const int MaxSegments = 128;

    // Aim below the limit, so that the proof's safety margin fits under it.
    private const double TargetErrorCounts = 0.006;
    private const int Intervals = 16;
    private const int MinSegmentMs = 100;

    private readonly DriveDesign _design;
    private readonly double[] _error = new double[Intervals + 1];
    private long _linear;
    private long _square;
    private long _cube;
    private long _end;

    /// <summary>Prepares to compile one design.</summary>
    public ProfileCompiler(DriveDesign design)
    {
        _design = design;
    }

    /// <summary>Why there is no profile; null after a success.</summary>
    public string Error { get; private set; }

    /// <summary>
    /// Upper bound of |evaluator − closed form| over the whole travel, counts: the largest sampled error, plus what a
    /// curve through the samples can hide between them (an eighth of the second difference, doubled for safety),
    /// plus the rounding of one evaluation, plus the periodic terms' own bound.
    /// </summary>
    public double ErrorBoundCounts { get; private set; }

    /// <summary>
    /// Fills the segments and periodic terms of <paramref name="profile"/>, whose other fields the caller has set.
    /// False, with <see cref="Error"/> set, when no profile within the error limit exists.
    /// </summary>
    public bool Compile(DriveProfile profile)
    {
        Error = null;
        ErrorBoundCounts = 0;
        profile.Counts = _design.CountsPerNutTurn.Numerator;
        profile.NutTurns = _design.CountsPerNutTurn.Denominator;
        profile.MicroArcsecPerCount = (int)Math.Round(_design.ArcsecPerCountAt(0) * 1e6);
        int travelMs = (int)(_design.TravelSec * 1000);
        if (travelMs < 1)
        {
            Error = "The drive has no travel: its start and end angles are the same.";
            return false;
        }

        int[] duration = new int[MaxSegments];
        long[] start = new long[MaxSegments];
        long[] linear = new long[MaxSegments];
        int[] square = new int[MaxSegments];
        int[] cube = new int[MaxSegments];
        int segments = 0;
        long position = 0;
        for (int atMs = 0; atMs < travelMs;)
        {
            int lengthMs = segments < MaxSegments ? LongestFit(position, atMs, travelMs - atMs) : 0;
            if (lengthMs == 0)
            {
                Error = "The drive profile does not fit in " + MaxSegments + " segments within 0.01 step.";
                return false;
            }

            double bound = Fit(position, atMs, lengthMs);
            ErrorBoundCounts = ErrorBoundCounts < bound ? bound : ErrorBoundCounts;
            duration[segments] = lengthMs;
            start[segments] = position;
            linear[segments] = _linear;
            square[segments] = (int)_square;
            cube[segments] = (int)_cube;
            position = _end;
            atMs += lengthMs;
            segments++;
        }

        profile.DurationMs = Copy(duration, segments);
        profile.Start = Copy(start, segments);
        profile.Linear = Copy(linear, segments);
        profile.Square = Copy(square, segments);
        profile.Cube = Copy(cube, segments);
        AddPeriodicTerms(profile);
        if (Error == null && !(ErrorBoundCounts <= MaxErrorCounts))
        {
            Error = "The drive profile would be wrong by more than 0.01 step.";
        }

        return Error == null;
    }

    // The longest segment from atMs that keeps within the aim: halve until one fits, then close in by bisection.
    private int LongestFit(long position, int atMs, int leftMs)
    {
        int most = leftMs < DriveProfile.MaxSegmentMs ? leftMs : DriveProfile.MaxSegmentMs;
        if (Fits(position, atMs, most))
        {
            return most;
        }

        int bad = most;
        int good = most / 2;
        while (!Fits(position, atMs, good))
        {
            bad = good;
            good /= 2;
            if (good < MinSegmentMs)
            {
                return 0;
            }
        }

        while (bad - good > good / 50)
        {
            int middle = good + ((bad - good) / 2);
            if (Fits(position, atMs, middle))
            {
                good = middle;
            }
            else
            {
                bad = middle;
            }
        }

        return good;
    }

    private bool Fits(long position, int atMs, int lengthMs) => Fit(position, atMs, lengthMs) <= TargetErrorCounts;

    // Fits one segment into the fields and returns its proved error; beyond any limit when it cannot be stored.
    private double Fit(long position, int atMs, int lengthMs)
    {
        double atSec = atMs / 1000.0;
        double lengthSec = lengthMs / 1000.0;
        _end = (long)Math.Round(_design.SmoothCountsAt(atSec + lengthSec) * DriveProfile.OneCount);
        double rise = _end - position;
        double slopeAtStart = _design.CountsPerSecAt(atSec) * lengthSec * DriveProfile.OneCount;
        double slopeAtEnd = _design.CountsPerSecAt(atSec + lengthSec) * lengthSec * DriveProfile.OneCount;
        double square = (3 * rise) - (2 * slopeAtStart) - slopeAtEnd;
        double cube = slopeAtStart + slopeAtEnd - (2 * rise);
        // Written so that NaN counts as too large on .NET and on the controller, where NaN > x is true.
        if (!(slopeAtStart < DriveProfile.LinearLimit
            && Math.Abs(square) < int.MaxValue - 1
            && Math.Abs(cube) < int.MaxValue - 1))
        {
            return double.MaxValue;
        }

        _linear = (long)Math.Round(slopeAtStart);
        _square = (long)Math.Round(square);
        _cube = _end - position - _linear - _square;
        return ProvedError(position, atMs, lengthMs);
    }

    private double ProvedError(long position, int atMs, int lengthMs)
    {
        double worst = 0;
        for (int i = 0; i <= Intervals; i++)
        {
            long elapsedUs = lengthMs * 1000L * i / Intervals;
            long u = ProfileEvaluator.U(elapsedUs, lengthMs * 1000L);
            long due = ProfileEvaluator.Polynomial(position, _linear, _square, _cube, u);
            double exact = _design.SmoothCountsAt((atMs / 1000.0) + (elapsedUs / 1e6));
            _error[i] = ((double)due / DriveProfile.OneCount) - exact;
            double size = Math.Abs(_error[i]);
            if (!(size <= double.MaxValue))
            {
                return double.MaxValue; // Not a number: never a fit.
            }

            worst = worst < size ? size : worst;
        }

        double bend = 0;
        for (int i = 1; i < Intervals; i++)
        {
            double second = Math.Abs(_error[i - 1] - (2 * _error[i]) + _error[i + 1]);
            bend = bend < second ? second : bend;
        }

        return worst + (bend / 4) + (5.0 / DriveProfile.OneCount);
    }

    private void AddPeriodicTerms(DriveProfile profile)
    {
        int terms = 3 * _design.Periodic.Length;
        profile.PeriodQ16 = new long[terms];
        profile.AmplitudeQ16 = new int[terms];
        profile.Phase = new uint[terms];
        double travelCounts = Math.Abs(_design.SmoothCountsAt(_design.TravelSec));
        double steepest = 0;
        for (int i = 0; i < terms; i++)
        {
            PeriodicError error = _design.Periodic[i / 3];
            int k = (i % 3) + 1;
            double countsPerTurn = _design.CountsPerNutTurn.Ratio;
            double period = error.PeriodNutTurns * countsPerTurn / k;
            double amplitude = error.HarmonicNutTurns(k) * countsPerTurn;
            double cycles = k * error.StartPhaseRad / (2 * Math.PI);
            if (!(period < 1 << 20 && Math.Abs(amplitude) < 1 << 14))
            {
                Error = "A periodic error's period or amplitude is too large to store.";
                return;
            }

            profile.PeriodQ16[i] = (long)Math.Round(period * DriveProfile.OneCount);
            profile.AmplitudeQ16[i] = (int)Math.Round(amplitude * DriveProfile.OneCount);
            profile.Phase[i] = (uint)(long)Math.Round((cycles - Math.Floor(cycles)) * 4294967295.0);
            steepest += 2 * Math.PI * Math.Abs(amplitude) / period;
            // Sine and phase resolution, rounding of the period over the travel, one truncation.
            double slip = travelCounts / period * 0.5 / (period * DriveProfile.OneCount) * 2 * Math.PI;
            ErrorBoundCounts += (2 * Math.Abs(amplitude) * (3e-7 + slip)) + (3.0 / DriveProfile.OneCount);
        }

        ErrorBoundCounts *= 1 + steepest;
        if (!(steepest <= 0.9))
        {
            Error = "The periodic errors are so steep that the nut would have to turn back.";
        }
    }

    private static int[] Copy(int[] from, int count)
    {
        int[] to = new int[count];
        Array.Copy(from, to, count);
        return to;
    }

    private static long[] Copy(long[] from, int count)
    {
        long[] to = new long[count];
        Array.Copy(from, to, count);
        return to;
    }
}
