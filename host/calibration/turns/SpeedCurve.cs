// A DC gear motor's speed table: duty, supply and turns a minute give the speed curve, the voltage below which it
// stands still, and the voltage that breaks it loose.

using Hourhinge.Calibration.Readings;
using Hourhinge.Numerics;

namespace Hourhinge.Calibration.Turns;

/// <summary>A speed at a duty and supply; line in the file.</summary>
public sealed record SpeedReading(int Line, double DutyPercent, double SupplyV, double TurnsPerMin)
{
    /// <summary>Mean voltage at the motor, V.</summary>
    public double MeanV => DutyPercent / 100 * SupplyV;
}

/// <summary>A speed curve.</summary>
/// <param name="Readings">The readings.</param>
/// <param name="ResidualTurnsPerMin">Speed found less speed of the line; NaN where the motor stood.</param>
/// <param name="IsOutlier">Readings left out.</param>
/// <param name="TurnsPerMinPerV">Slope of the line, turns a minute for a volt of mean voltage.</param>
/// <param name="TurnsPerMinPerVSigma">Its standard uncertainty.</param>
/// <param name="DeadBandV">Mean voltage at which the line reaches zero speed.</param>
/// <param name="DeadBandVSigma">Its standard uncertainty.</param>
/// <param name="BreakAwayMinV">The motor was seen at rest at this mean voltage: break-away is above. NaN when never
/// seen.</param>
/// <param name="BreakAwayMaxV">Smallest mean voltage above that at which it turned. NaN when it never turned above
/// it.</param>
/// <param name="MinRunningV">Smallest mean voltage at which it was seen turning.</param>
/// <param name="Curve">Mean voltage and turns a minute, both rising, as measured (smoothed to rise).</param>
/// <param name="Assessment">Whether to trust it.</param>
public sealed record SpeedCurveFit(
    IReadOnlyList<SpeedReading> Readings, double[] ResidualTurnsPerMin, bool[] IsOutlier,
    double TurnsPerMinPerV, double TurnsPerMinPerVSigma, double DeadBandV, double DeadBandVSigma,
    double BreakAwayMinV, double BreakAwayMaxV, double MinRunningV,
    IReadOnlyList<(double MeanV, double TurnsPerMin)> Curve, CalibrationAssessment Assessment)
{
    /// <summary>Columns of the file.</summary>
    public static IReadOnlyList<MeasurementColumn> Columns { get; } =
    [
        new("duty_percent", 0, 100, "%"),
        new("supply_v", 1, 60, "V"),
        new("turns_per_min", 0, 30000, "turns a minute"),
    ];

    /// <summary>Reads a file's text.</summary>
    public static IReadOnlyList<SpeedReading> Read(string file, string text) =>
        [.. MeasurementTable.Parse(file, text,
            Columns).Rows.Select(r => new SpeedReading(r.Line, r.Values[0], r.Values[1], r.Values[2]))];

    /// <summary>
    /// Fits the running points by a line in the mean voltage, speed = slope × (duty × supply − dead band): a motor with
    /// constant friction, fed through a bridge that freewheels.
    /// </summary>
    /// <param name="readings">At least three of them running.</param>
    /// <param name="speedErrorPercent">Standard error of a speed, % of the fastest.</param>
    public static SpeedCurveFit Fit(IReadOnlyList<SpeedReading> readings, double speedErrorPercent)
    {
        SpeedReading[] running = [.. readings.Where(r => r.TurnsPerMin > 0)];
        if (running.Length < 3 || running.Max(r => r.MeanV) - running.Min(r => r.MeanV) < 0.01)
        {
            throw new MeasurementException(
                $"{running.Length} readings have the motor turning; a speed curve needs at least 3 of them, at "
                + "different duties or supplies.");
        }

        double error = running.Max(r => r.TurnsPerMin) * speedErrorPercent / 100;
        double middle = running.Average(r => r.MeanV);
        double span = running.Max(r => r.MeanV) - running.Min(r => r.MeanV);
        double steep = running.Max(r => r.TurnsPerMin) / span;
        RobustFit fit = RobustFit.Solve(
            p => [.. running.Select(r => (r.TurnsPerMin - p[0] - (p[1] * (r.MeanV - middle))) / error)],
            [running.Average(r => r.TurnsPerMin), steep],
            [error, steep / 10]);
        (double at, double slope) = (fit.Parameters[0], fit.Parameters[1]);
        double dead = middle - (at / slope);
        // First-order propagation: ∂dead/∂at = −1/slope, ∂dead/∂slope = at/slope².
        (double g0, double g1) = (-1 / slope, at / (slope * slope));
        double deadSigma = Math.Sqrt((g0 * g0 * fit.Covariance[0, 0]) + (2 * g0 * g1 * fit.Covariance[0, 1])
            + (g1 * g1 * fit.Covariance[1, 1]));

        double[] residual = new double[readings.Count];
        bool[] isOutlier = new bool[readings.Count];
        for (int i = 0, k = 0; i < readings.Count; i++)
        {
            bool turns = readings[i].TurnsPerMin > 0;
            residual[i] = turns ? fit.Residuals[k] * error : double.NaN;
            isOutlier[i] = turns && fit.IsOutlier[k++];
        }

        double stuck = readings.Where(r => r.TurnsPerMin == 0).Select(r => r.MeanV).DefaultIfEmpty(double.NaN).Max();
        double loose = running.Select(r => r.MeanV).Where(v => !(v <= stuck)).DefaultIfEmpty(double.NaN).Min();
        int[] used = [.. Enumerable.Range(0, readings.Count)
            .Where(i => readings[i].TurnsPerMin > 0 && !isOutlier[i]).OrderBy(i => readings[i].MeanV)];
        SpeedReading[] good = [.. used.Select(i => readings[i])];
        double[] inOrder = [.. used.Select(i => residual[i])];
        string Speed(double s) => $"{s:0.###} turns a minute";
        List<string> reasons = CalibrationAssessment.Common(fit, 5, inOrder, Speed(fit.Scatter * error),
            $"{Speed(error)} expected of a reading (--speed-error-percent)");
        if (!(slope > 0))
        {
            reasons.Add("The motor does not turn faster with more voltage: the table cannot be right.");
        }

        if (!(dead > -2 * deadSigma))
        {
            reasons.Add($"The line says that the motor turns at {dead:0.00} V: no motor does without voltage.");
        }

        if (double.IsNaN(stuck))
        {
            reasons.Add(
                "No reading shows the motor at rest, so nothing is known of what breaks it loose. Raise the duty "
                + "from 0 in small steps and note the ones at which it stands.");
        }

        return new SpeedCurveFit(readings, residual, isOutlier, slope, fit.Sigma(1), dead, deadSigma, stuck, loose,
            running.Min(r => r.MeanV), Rising(good), new CalibrationAssessment(reasons));
    }

    /// <summary>The curve as duty (%) and turns a minute at a supply, for a controller; points beyond 100 % are left
    /// out.</summary>
    public IReadOnlyList<(double DutyPercent, double TurnsPerMin)> AtSupply(double supplyV) =>
        [.. Curve.Select(c => (c.MeanV / supplyV * 100, c.TurnsPerMin)).Where(c => c.Item1 <= 100)];

    // Pool adjacent violators (Ayer et al. 1955, Ann. Math. Stat. 26, 641): the rising curve nearest to the readings.
    private static List<(double, double)> Rising(SpeedReading[] ordered)
    {
        var blocks = new List<(double V, double Speed, int Count)>();
        foreach (SpeedReading r in ordered)
        {
            blocks.Add((r.MeanV, r.TurnsPerMin, 1));
            while (blocks.Count > 1 && (blocks[^1].Speed <= blocks[^2].Speed || blocks[^1].V - blocks[^2].V < 1e-6))
            {
                (double v, double speed, int count) = blocks[^1];
                (double v0, double speed0, int count0) = blocks[^2];
                blocks.RemoveAt(blocks.Count - 1);
                int n = count + count0;
                blocks[^1] = (((v * count) + (v0 * count0)) / n, ((speed * count) + (speed0 * count0)) / n, n);
            }
        }

        return [.. blocks.Select(b => (b.V, b.Speed))];
    }
}
