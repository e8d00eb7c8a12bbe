// Nut turns counted against a stopwatch while the motor is driven at a known rate: how many commanded turns does the
// nut need for one? From that the true gear ratio, the tooth counts that explain it, or the clock's error.

using Hourhinge.Calibration.Readings;
using Hourhinge.Numerics;
using Hourhinge.Rig;

namespace Hourhinge.Calibration.Turns;

/// <summary>At a time since the drive's start, so many nut turns since some mark; line in the file.</summary>
public sealed record TurnReading(int Line, double Minutes, double NutTurns);

/// <summary>What explains the ratio found.</summary>
public enum TurnsCause
{
    /// <summary>The rig file's numbers stand.</summary>
    FileStands,

    /// <summary>One slip in the tooth counts (or microsteps) explains it exactly.</summary>
    ExactTeeth,

    /// <summary>No exact explanation, or several: a measured correction of the gear ratio.</summary>
    MeasuredRatio,

    /// <summary>So small that it is the controller's crystal.</summary>
    Clock,
}

/// <summary>A turn count, worked out.</summary>
/// <param name="Readings">The readings.</param>
/// <param name="ResidualSec">How late each reading was by the stopwatch, s.</param>
/// <param name="IsOutlier">Readings left out.</param>
/// <param name="Ratio">Turns that were commanded for one turn that was counted.</param>
/// <param name="RatioSigma">Its standard uncertainty.</param>
/// <param name="T95">Factor from standard uncertainty to 95 % interval.</param>
/// <param name="ScatterSec">Scatter of the readings, s.</param>
/// <param name="Cause">The explanation.</param>
/// <param name="Slip">The slip, for <see cref="TurnsCause.ExactTeeth"/>.</param>
/// <param name="Candidates">Every slip that the readings allow.</param>
/// <param name="SlipsTried">How many slips were compared.</param>
/// <param name="Assessment">Whether to trust it.</param>
public sealed record TurnsResult(
    IReadOnlyList<TurnReading> Readings, double[] ResidualSec, bool[] IsOutlier,
    double Ratio, double RatioSigma, double T95, double ScatterSec,
    TurnsCause Cause, GearHypothesis? Slip, IReadOnlyList<GearHypothesis> Candidates, int SlipsTried,
        CalibrationAssessment Assessment);

/// <summary>Works turn counts out.</summary>
public static class TurnsCalibration
{
    /// <summary>A ratio that is not known to this, ppm, is no use: 1000 ppm is 27 arcsec in half an hour.</summary>
    public const double WorstUsefulPpm = 1000;

    /// <summary>Beyond this no crystal is to blame: ±100 ppm is sold (common practice, no source), thrice that is
    /// allowed.</summary>
    public const double LargestClockPpm = 300;

    /// <summary>
    /// A cause is possible when the ratio lies within its interval of this probability. Wide, since tooth counts are
    /// exact and mostly right: one right file in a thousand is doubted, where 95 % would doubt one in twenty.
    /// </summary>
    public const double CauseProbability = 0.999;

    private const int MinReadings = 5;

    /// <summary>Columns of the file.</summary>
    public static IReadOnlyList<MeasurementColumn> Columns { get; } =
    [
        new("minutes", 0, 1440, "minutes"),
        new("nut_turns", -1000, 100000, "turns"),
    ];

    /// <summary>Reads a file's text; times and turns must rise.</summary>
    public static IReadOnlyList<TurnReading> Read(string file, string text)
    {
        MeasurementTable table = MeasurementTable.Parse(file, text, Columns);
        for (int i = 1; i < table.Rows.Count; i++)
        {
            (int line, double[] now) = table.Rows[i];
            double[] last = table.Rows[i - 1].Values;
            for (int k = 0; k < 2; k++)
            {
                if (!(now[k] > last[k]))
                {
                    throw table.Wrong(line, Columns[k].Name, now[k],
                        $"must be more than in the reading before, {last[k]}, up to {Columns[k].Max} "
                            + $"{Columns[k].Unit}");
                }
            }
        }

        return [.. table.Rows.Select(r => new TurnReading(r.Line, r.Values[0], r.Values[1]))];
    }

    /// <summary>
    /// Fits commanded turns against counted turns by a line. The error is the stopwatch's, so the commanded turns at
    /// the time pressed carry it, and the counted ones are exact.
    /// </summary>
    /// <param name="rig">What is believed.</param>
    /// <param name="readings">At least three.</param>
    /// <param name="commandedTurns">Nut turns that the controller means to have made at a time in s, by the rig's
    /// numbers.</param>
    /// <param name="stopwatchSec">Standard error of a press, s.</param>
    public static TurnsResult Fit(RigDescription rig, IReadOnlyList<TurnReading> readings,
        Func<double, double> commandedTurns, double stopwatchSec)
    {
        if (readings.Count < 3)
        {
            throw new MeasurementException(
                $"There {(readings.Count == 1 ? "is 1 reading" : $"are {readings.Count} readings")}; a line with an "
                + "error needs at least 3, and a result that can "
                + $"be trusted {MinReadings} or more.");
        }

        double[] commanded = [.. readings.Select(r => commandedTurns(r.Minutes * 60))];
        double[] turnsPerSec = [
            .. readings.Select(r => (commandedTurns((r.Minutes * 60) + 0.5) - commandedTurns((r.Minutes * 60) - 0.5)))];
        double middle = readings.Average(r => r.NutTurns);
        Func<double[], double[]> Residuals(Func<int, double> counted) => p =>
            [.. readings.Select((_, i) => (commanded[i] - p[0] - (p[1] * (counted(i) - middle)))
                / (turnsPerSec[i] * stopwatchSec))];
        RobustFit Line(Func<int, double> counted) =>
            RobustFit.Solve(Residuals(counted), [commanded.Average(), 1], [1, 0.01]);

        RobustFit fit = Line(i => readings[i].NutTurns);
        double ratio = fit.Parameters[1];
        double sigma = fit.Sigma(1);
        double[] late = [.. fit.Residuals.Select(r => r * stopwatchSec)];

        IReadOnlyList<GearHypothesis> slips = GearHypotheses.For(rig.Gear, rig.Motor);
        double byTeeth = ratio * (1 + (rig.Gear.CorrectionPpm * 1e-6));
        double half = fit.T(CauseProbability) * sigma;
        GearHypothesis[] candidates = [.. slips.Where(s => Math.Abs(s.Factor - byTeeth) <= half).OrderBy(s => s.Rank)];
        (TurnsCause cause, GearHypothesis? slip) = Explain(ratio, half, candidates);

        List<string> reasons = CalibrationAssessment.Common(
            fit, MinReadings, [.. late.Where((_, i) => !fit.IsOutlier[i])],
            Seconds(fit.Scatter * stopwatchSec),
            $"{Seconds(stopwatchSec)} expected of the stopwatch (--stopwatch-error-s)");
        double expectedPpm = Math.Sqrt(fit.NormalInverse[1, 1])
            * Math.Max(1, double.IsNaN(fit.Scatter) ? 1 : fit.Scatter) * 1e6 / Math.Abs(ratio);
        if (expectedPpm > WorstUsefulPpm)
        {
            double span = readings[^1].Minutes - readings[0].Minutes;
            reasons.Add($"The count is too short for the stopwatch: {span:0.#} minutes leave the ratio uncertain by "
                + $"{expectedPpm:0} ppm; it must be {WorstUsefulPpm} ppm or less. Count for "
                + $"{span * expectedPpm / WorstUsefulPpm * 1.2:0} minutes or more.");
        }

        if (slip == null && Math.Abs(ratio - 1) > 0.1)
        {
            reasons.Add(
                $"A ratio of {ratio:0.0000} is implausible: more than 10 % off, and no single slip in tooth counts "
                + "or microsteps explains it. Was the rate that you named the rate that was driven?");
        }

        double[] counted = [.. readings.Select(r => r.NutTurns - middle)];
        double[] perSigma = [.. turnsPerSec.Select(t => 1 / (t * stopwatchSec))];
        if (reasons.Count > 0 && LostTurn(readings, fit, counted, perSigma, Line) is { } lost)
        {
            reasons.Add(lost);
        }

        return new TurnsResult(readings, late, fit.IsOutlier, ratio, sigma, fit.T95, fit.Scatter * stopwatchSec, cause,
            slip, candidates, slips.Count, new CalibrationAssessment(reasons));
    }

    // The likeliest slip wins when it stands alone in its rank; a file that agrees needs no slip.
    private static (TurnsCause, GearHypothesis?) Explain(double ratio, double half, GearHypothesis[] candidates)
    {
        if (Math.Abs(ratio - 1) <= half)
        {
            return (TurnsCause.FileStands, null);
        }

        if (candidates.Length > 0 && candidates.Count(c => c.Rank == candidates[0].Rank) == 1)
        {
            return (TurnsCause.ExactTeeth, candidates[0]);
        }

        return (Math.Abs(ratio - 1) * 1e6 <= LargestClockPpm ? TurnsCause.Clock : TurnsCause.MeasuredRatio, null);
    }

    // A turn missed or counted twice shifts all later readings by one; the fit with the right shift is far better.
    // Plain least squares on running sums finds the place; the robust fit confirms it.
    private static string? LostTurn(IReadOnlyList<TurnReading> readings, RobustFit fit, double[] counted,
        double[] perSigma, Func<Func<int, double>, RobustFit> line)
    {
        double before = fit.Residuals.Sum(r => r * r);
        (double best, int from, int shift) = (before / 10, 0, 0);
        foreach (int turn in new[] { -1, 1 })
        {
            double[] misfits = MisfitsWithShift(fit, counted, perSigma, turn);
            for (int i = 1; i < misfits.Length; i++)
            {
                if (misfits[i] < best)
                {
                    (best, from, shift) = (misfits[i], i, turn);
                }
            }
        }

        return shift == 0 || line(k => readings[k].NutTurns + (k >= from ? shift : 0)).Residuals.Sum(r => r * r)
            >= before / 10
            ? null
            : $"From line {readings[from].Line} on the count looks one turn too "
                + $"{(shift > 0 ? "low: a turn was missed" : "high: a turn was counted twice")}. Correct it there "
                + "if you are sure, or count again.";
    }

    // For each reading: the sum of squares of a weighted line when a turn is added to the count from there on.
    private static double[] MisfitsWithShift(RobustFit fit, double[] counted, double[] perSigma, int turn)
    {
        int n = counted.Length;
        double[] misfits = new double[n];
        // Sums of w, wx, wxx, wz, wxz, wzz with z, what is left of the first fit; the tail has the turn added.
        double w = 0, wx = 0, wxx = 0, wz = 0, wxz = 0, wzz = 0;
        void Add(int i, double shifted, double sign)
        {
            double weight = sign * perSigma[i] * perSigma[i];
            double x = counted[i] + shifted;
            double z = (fit.Residuals[i] / perSigma[i]) - (fit.Parameters[1] * shifted);
            w += weight;
            wx += weight * x;
            wxx += weight * x * x;
            wz += weight * z;
            wxz += weight * x * z;
            wzz += weight * z * z;
        }

        for (int i = 0; i < n; i++)
        {
            Add(i, 0, 1);
        }

        for (int i = n - 1; i >= 0; i--)
        {
            Add(i, 0, -1);
            Add(i, turn, 1);
            double slope = ((w * wxz) - (wx * wz)) / ((w * wxx) - (wx * wx));
            misfits[i] = wzz - (wz * wz / w) - (slope * (wxz - (wx * wz / w)));
        }

        return misfits;
    }

    private static string Seconds(double sec) => $"{sec:0.00} s";
}
