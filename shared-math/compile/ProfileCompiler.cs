// Turns the closed form of a drive into a profile of integers, and proves the error of the result before it returns it.

using System;
using Hourhinge.SharedMath.Geometry;
using Hourhinge.SharedMath.Profile;
using Hourhinge.SharedMath.Rig;

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

    /// <summary>Largest steepness of all periodic errors together.</summary>
    public const double MaxPeriodicSteepness = 0.9;

    // Aim below the limit, so that the proof's safety margin fits under it.
    private const double TargetErrorCounts = 0.006;
    private const int Intervals = 16;
    private const int MinSegmentMs = 100;

    private readonly DriveDesign _design;
    private readonly double[] _error = new double[Intervals + 1];
    private readonly double _targetErrorCounts;
    private long _linear;
    private long _square;
    private long _cube;
    private long _end;

    /// <summary>Prepares to compile one design.</summary>
    public ProfileCompiler(DriveDesign design)
    {
        _design = design;
        double steepness = design.PeriodicSteepness;
        _targetErrorCounts = TargetErrorCounts * (steepness < MaxPeriodicSteepness ? 1 - steepness : 1);
    }

    /// <summary>Why there is no profile; null after a success.</summary>
    public string Error { get; private set; }

    /// <summary>How much of the travel fitted when <see cref="Error"/> says that not all did, 0 to 1.</summary>
    public double FittedFraction { get; private set; } = 1;

    /// <summary>
    /// Upper bound of |evaluator − closed form| over the whole travel, counts: the largest sampled error, plus what a
    /// curve through the samples can hide between them (an eighth of the second difference, doubled for safety),
    /// plus the rounding of one evaluation, plus what the integer periodic terms differ from the exact ones, all
    /// raised by how much the inversion of the periodic errors magnifies it.
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

        int[] duration = new int[DriveProfile.MaxSegments];
        long[] start = new long[DriveProfile.MaxSegments];
        long[] linear = new long[DriveProfile.MaxSegments];
        long[] square = new long[DriveProfile.MaxSegments];
        long[] cube = new long[DriveProfile.MaxSegments];
        int segments = 0;
        long position = 0;
        for (int atMs = 0; atMs < travelMs;)
        {
            int lengthMs = segments < DriveProfile.MaxSegments ? LongestFit(position, atMs, travelMs - atMs) : 0;
            if (lengthMs == 0)
            {
                FittedFraction = (double)atMs / travelMs;
                Error = "The drive profile does not fit in " + DriveProfile.MaxSegments + " segments within 0.01 step.";
                return false;
            }

            double bound = Fit(position, atMs, lengthMs);
            ErrorBoundCounts = ErrorBoundCounts < bound ? bound : ErrorBoundCounts;
            duration[segments] = lengthMs;
            start[segments] = position;
            linear[segments] = _linear;
            square[segments] = _square;
            cube[segments] = _cube;
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
            Error = "The drive profile would be wrong by up to "
                + RigParameters.Format((long)Math.Ceiling(ErrorBoundCounts * 1000), 3)
                + " step, more than 0.01.";
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

        while (good / 50 < bad - good)
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

    private bool Fits(long position, int atMs, int lengthMs) => Fit(position, atMs, lengthMs) <= _targetErrorCounts;

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
        double limit = DriveProfile.CoefficientLimit - 4;
        if (!(slopeAtStart < limit && slopeAtEnd < limit && Math.Abs(square) < limit && Math.Abs(cube) < limit))
        {
            return double.MaxValue;
        }

        _linear = (long)Math.Round(slopeAtStart);
        _square = (long)Math.Round(square);
        _cube = _end - position - _linear - _square;
        double steepest = slopeAtEnd < slopeAtStart ? slopeAtStart : slopeAtEnd;
        return ProvedError(position, atMs, lengthMs, steepest / (1 << 30));
    }

    // lastBit: what the last bit of u moves the position by, Q16; a cubic so close to a line has its steepest slope
    // near an end, and the term is doubled for that.
    private double ProvedError(long position, int atMs, int lengthMs, double lastBit)
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

        return worst + (bend / 4) + ((4 + (2 * lastBit)) / DriveProfile.OneCount);
    }

    private void AddPeriodicTerms(DriveProfile profile)
    {
        int terms = _design.Periodic.Length;
        profile.PeriodQ16 = new long[terms];
        profile.AmplitudeQ16 = new long[terms];
        profile.Phase = new uint[terms];
        double countsPerTurn = _design.CountsPerNutTurn.Ratio;
        double travelCounts = Math.Abs(_design.SmoothCountsAt(_design.TravelSec));
        for (int i = 0; i < terms; i++)
        {
            PeriodicError error = _design.Periodic[i];
            double period = error.PeriodNutTurns * countsPerTurn;
            double amplitude = error.AmplitudeNutTurns * countsPerTurn;
            double cycles = error.PhaseRad / (2 * Math.PI);
            if (!(1 <= period && period * DriveProfile.OneCount < ProfileSafety.PeriodLimit
                && Math.Abs(amplitude) * DriveProfile.OneCount < ProfileSafety.AmplitudeLimit))
            {
                Error = "periodic.period_nut_turns of periodic error " + (i + 1)
                    + " must be 1 to 68719476735 counts and its amplitude below 16777216 counts";
                return;
            }

            profile.PeriodQ16[i] = (long)Math.Round(period * DriveProfile.OneCount);
            profile.AmplitudeQ16[i] = (long)Math.Round(amplitude * DriveProfile.OneCount);
            profile.Phase[i] = (uint)(long)Math.Round((cycles - Math.Floor(cycles)) * 4294967295.0);
            // Sine (1e-8), angle (2^-29 of a turn: 1.2e-8 rad) and phase (3e-9 rad), twice each for the start; rounding
            // of the period, over the travel; truncations and the rounding of the amplitude.
            double slip = (travelCounts + Math.Abs(amplitude)) / period * 0.5 / (period * DriveProfile.OneCount)
                * 2 * Math.PI;
            ErrorBoundCounts += (Math.Abs(amplitude) * (5e-8 + slip)) + (4.0 / DriveProfile.OneCount);
        }

        double steepness = _design.PeriodicSteepness;
        if (!(steepness <= MaxPeriodicSteepness))
        {
            Error = "The periodic errors together are so steep that the nut would have to turn back.";
            return;
        }

        // The solver stops within 2 units; its equation magnifies an error by at most 1 / (1 - steepness).
        ErrorBoundCounts = terms == 0
            ? ErrorBoundCounts
            : (ErrorBoundCounts / (1 - steepness)) + (2.0 / DriveProfile.OneCount);
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
