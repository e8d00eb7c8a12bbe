// Opening measured against rod length: which arms, bend and offsets make it so, how well that is known, and what the
// readings cannot tell.

using Hourhinge.Calibration.Readings;
using Hourhinge.Numerics;
using Hourhinge.Rig;
using Hourhinge.SharedMath.Compile;
using Hourhinge.SharedMath.Geometry;
using MathNet.Numerics.LinearAlgebra;
using MathNet.Numerics.LinearAlgebra.Factorization;

namespace Hourhinge.Calibration.Rod;

/// <summary>A parameter after the fit.</summary>
/// <param name="Parameter">Which, and what the rig file says.</param>
/// <param name="Value">Fitted, or the file's when held.</param>
/// <param name="Sigma">Standard uncertainty: the readings' scatter, and what is held being as uncertain as a ruler
/// leaves it.</param>
/// <param name="IsHeld">True when the readings cannot tell it.</param>
public sealed record RodEstimate(RodParameter Parameter, double Value, double Sigma, bool IsHeld);

/// <summary>A rod calibration.</summary>
/// <param name="Readings">The readings, by rod length.</param>
/// <param name="ResidualRad">Opening found less opening of the fitted hinge.</param>
/// <param name="IsOutlier">Readings left out.</param>
/// <param name="Estimates">The parameters, the reading's zero last.</param>
/// <param name="Covariance">Of all parameters, in the order of the estimates.</param>
/// <param name="Freedom">Degrees of freedom.</param>
/// <param name="T95">Factor from standard uncertainty to 95 % interval.</param>
/// <param name="Hinge">The fitted hinge.</param>
/// <param name="Undetermined">Sentences on what the readings cannot tell.</param>
/// <param name="SingularValues">Per direction, ruler's error / readings' error, largest first, with nothing
/// held.</param>
/// <param name="FileRatePpm">How much faster than meant the hinge moves if driven by the file's numbers, mean of the
/// drive's first half hour, ppm.</param>
/// <param name="RateSigmaPpm">Standard uncertainty of that rate with the fitted numbers, ppm.</param>
/// <param name="Assessment">Whether to trust it.</param>
public sealed record RodResult(
    IReadOnlyList<RodReading> Readings, double[] ResidualRad, bool[] IsOutlier,
    IReadOnlyList<RodEstimate> Estimates, Matrix<double> Covariance, int Freedom, double T95, HingeGeometry Hinge,
    IReadOnlyList<string> Undetermined, double[] SingularValues, double FileRatePpm, double RateSigmaPpm,
        CalibrationAssessment Assessment);

/// <summary>Works rod calibrations out.</summary>
public static class RodCalibration
{
    /// <summary>A direction counts as told when the readings know it this much better than a ruler.</summary>
    public const double MinGain = 2;

    private const double DriveSec = 1800;

    /// <summary>Fits a hinge of the rig's form to readings.</summary>
    /// <param name="rig">The form, and the values to start from and to hold.</param>
    /// <param name="readings">More than the form has parameters.</param>
    /// <param name="rodSigmaMm">Standard error of a rod length, mm.</param>
    public static RodResult Fit(RigDescription rig, IReadOnlyList<RodReading> readings, double rodSigmaMm)
    {
        if (rig.Hinge is DoubleArmHinge)
        {
            throw new MeasurementException("calibrate rod finds the arms of a hinge with one arm. The seven numbers of "
                + "a double arm cannot be told apart by its opening: measure them, then use: hourhinge calibrate "
                + "stars.");
        }

        RodModel model = RodModel.For(rig.Hinge);
        int all = model.Parameters.Count;
        RodReading[] r = [.. readings.OrderBy(x => x.RodMm)];
        if (r.Length < all + 1)
        {
            throw new MeasurementException(
                $"There {(r.Length == 1 ? "is 1 reading" : $"are {r.Length} readings")}; this form has {all} "
                + $"unknowns and needs at least {all + 1}, better "
                + $"{all + 4} or more.");
        }

        foreach (RodReading x in r)
        {
            if (double.IsNaN(rig.Hinge.AngleRad(x.RodMm)))
            {
                throw new MeasurementException($"Line {x.Line}: rod_mm = {x.RodMm}: this linkage works from "
                    + $"{rig.Hinge.RodLengthMm(rig.Hinge.MinAngleRad):0.##} to "
                    + $"{rig.Hinge.RodLengthMm(rig.Hinge.MaxAngleRad):0.##} mm of rod.");
            }
        }

        // A rod length that is off by σ shows as an angle off by σ / (ds/dθ).
        double[] sigma =
            [.. r.Select(x =>
                double.Hypot(x.AngleSigmaRad, rodSigmaMm / rig.Hinge.RodSlopeMmPerRad(rig.Hinge.AngleRad(x.RodMm))))];
        double[] Residuals(double[] p)
        {
            HingeGeometry? hinge = model.Build(p);
            return [.. r.Select((x, i) => ((hinge?.AngleRad(x.RodMm) ?? double.NaN) + p[^1] - x.AngleRad) / -sigma[i])];
        }

        var held = new List<int>();
        var untold = new List<string>();
        double[] gains = [];
        while (true)
        {
            Freed fit = SolveFree(model, Residuals, held);
            Svd<double> svd = fit.Gains(model);
            gains = gains.Length == 0 ? [.. svd.S] : gains;
            int hold = WhatToHold(model, fit, svd, untold);
            if (hold >= 0)
            {
                held.Add(hold);
                if (held.Count < all)
                {
                    continue;
                }
            }

            return Result(rig, model, r, sigma, fit, held, untold, gains);
        }
    }

    // A fit with some parameters held: the whole vector, and which entries are free.
    private sealed record Freed(RobustFit Fit, int[] Free, double[] All)
    {
        // Singular values of the Jacobian in ruler's errors: how much better than a ruler the readings know each
        // direction.
        public MathNet.Numerics.LinearAlgebra.Factorization.Svd<double> Gains(RodModel model)
        {
            int[] rows = [.. Enumerable.Range(0, Fit.IsOutlier.Length).Where(i => !Fit.IsOutlier[i])];
            // With few readings a small scatter may be luck; then the tools' expected error stands.
            double scatter = Fit.Freedom >= 5 ? Fit.Scatter : double.IsNaN(Fit.Scatter) ? 1 : Math.Max(1, Fit.Scatter);
            return Matrix<double>.Build.Dense(rows.Length, Free.Length, (i, j) =>
                Fit.Jacobian[rows[i], j] * model.Parameters[Free[j]].DrawnSigma / scatter).Svd();
        }
    }

    private static Freed SolveFree(RodModel model, Func<double[], double[]> residuals, List<int> held)
    {
        int[] free = [.. Enumerable.Range(0, model.Parameters.Count).Where(i => !held.Contains(i))];
        double[] file = [.. model.Parameters.Select(p => p.FileValue)];
        double[] Whole(double[] part)
        {
            double[] whole = [.. file];
            for (int k = 0; k < free.Length; k++)
            {
                whole[free[k]] = part[k];
            }

            return whole;
        }

        double[] start = [.. free.Select(i => file[i])];
        int difference = Array.IndexOf(free, model.Difference);
        if (difference >= 0 && Math.Abs(start[difference]) < 2)
        {
            double[] aside = [.. start];
            aside[difference] = start[difference] < 0
                ? -2
                : 2; // At exactly equal arms the slope is zero and nothing would move.
            start = residuals(Whole(aside)).Any(double.IsNaN) ? start : aside;
        }

        RobustFit fit =
            RobustFit.Solve(p => residuals(Whole(p)), start, [.. free.Select(i => model.Parameters[i].DrawnSigma)]);
        return new Freed(fit, free, Whole(fit.Parameters));
    }

    // The parameter to hold, and why, in words; -1 when the readings tell all that are free.
    private static int WhatToHold(RodModel model, Freed f, MathNet.Numerics.LinearAlgebra.Factorization.Svd<double> svd,
        List<string> untold)
    {
        double[] weakest = [.. svd.VT.Row(f.Free.Length - 1)];
        if (svd.S[f.Free.Length - 1] < MinGain)
        {
            string[] mixed =
                [.. f.Free.Where((_, j) => Math.Abs(weakest[j]) > 0.15).Select(i => model.Parameters[i].Name)];
            int hold = f.Free[Array.IndexOf(weakest, weakest.MaxBy(Math.Abs))];
            string name = model.Parameters[hold].Name;
            untold.Add(mixed.Length == 1 && hold == model.Difference ? ArmsAlike(model) : mixed.Length > 1
                ? $"The readings cannot tell apart: {string.Join(", ", mixed)}. The {name} is held at "
                    + $"{Shown(model.Parameters[hold])}."
                : $"The readings say hardly more about the {name} than a ruler does. It is held at "
                    + $"{Shown(model.Parameters[hold])}.");
            return hold;
        }

        // The openings depend on the square of the difference, which is t sigmas clear of zero when the difference is
        // 2t of its own. Unless that is beyond what noise does once in 4000, the difference has no honest error bar.
        int at = Array.IndexOf(f.Free, model.Difference);
        if (at >= 0 && Math.Abs(f.Fit.Parameters[at]) < 2 * f.Fit.T(0.9995) * f.Fit.Sigma(at))
        {
            untold.Add(ArmsAlike(model));
            return model.Difference;
        }

        return -1;
    }

    private static string ArmsAlike(RodModel model) =>
        $"The readings cannot tell the nut arm from the anchor arm, only their mean. The "
        + $"{model.Parameters[model.Difference].Name} is held at {Shown(model.Parameters[model.Difference])}.";

    private static RodResult Result(
        RigDescription rig, RodModel model, RodReading[] r, double[] sigma, Freed f, List<int> held,
        List<string> untold, double[] gains)
    {
        bool nothing = held.Count == model.Parameters.Count;
        double[] p = nothing ? [.. model.Parameters.Select(x => x.FileValue)] : f.All;
        Matrix<double> covariance = Covariance(model, r, sigma, f, held, p);
        RodEstimate[] estimates =
            [.. model.Parameters.Select((x, i) =>
                new RodEstimate(x, p[i], Math.Sqrt(covariance[i, i]), held.Contains(i)))];
        HingeGeometry hinge = model.Build(p)!;
        double[] residual = [.. r.Select(x => x.AngleRad - hinge.AngleRad(x.RodMm) - p[^1])];
        (double rate, double rateSigma) = Rate(rig, model, p, covariance);

        string Degrees(double rad) => $"{AngleUnits.ToDeg(rad):0.000}°";
        double typical = Math.Sqrt(sigma.Average(s => s * s));
        List<string> reasons = CalibrationAssessment.Common(
            f.Fit, f.Free.Length + 3, [.. residual.Where((_, i) => !f.Fit.IsOutlier[i])],
            Degrees(f.Fit.Scatter * typical),
            $"{Degrees(typical)} expected of the tools (--angle-error-deg, --gap-error-mm, --rod-error-mm)");
        if (nothing || held.Contains(0))
        {
            reasons.Add(
                $"The readings know the {model.Parameters[0].Name} no better than a ruler: measure over a wider "
                + "range of openings, or with better tools.");
        }

        foreach (RodEstimate e in estimates.Where(e => !e.IsHeld
            && Math.Abs(e.Value - e.Parameter.FileValue) > 6 * Math.Max(e.Parameter.DrawnSigma, e.Sigma)))
        {
            reasons.Add(
                $"The {e.Parameter.Name} of {Shown(e.Parameter, e.Value)} is implausible beside "
                + $"{Shown(e.Parameter)}. Is the rod length measured as the rig file means it?");
        }

        return new RodResult(
            r, residual, f.Fit.IsOutlier, estimates, covariance, f.Fit.Freedom, f.Fit.T95, hinge, untold, gains, rate,
            rateSigma, new CalibrationAssessment(reasons));
    }

    // The readings' covariance of what is free, and the ruler's uncertainty of what is held, carried into what is free.
    private static Matrix<double> Covariance(RodModel model, RodReading[] r, double[] sigma, Freed f, List<int> held,
        double[] p)
    {
        int n = model.Parameters.Count;
        Matrix<double> spread = Matrix<double>.Build.Dense(n, n);
        for (int i = 0; i < f.Free.Length; i++)
        {
            for (int j = 0; j < f.Free.Length; j++)
            {
                spread[f.Free[i], f.Free[j]] = f.Fit.Covariance[i, j];
            }
        }

        int[] good = [.. Enumerable.Range(0, r.Length).Where(i => !f.Fit.IsOutlier[i])];
        Matrix<double> j2 = Matrix<double>.Build.DenseOfRows(good.Select(i => f.Fit.Jacobian.Row(i)));
        foreach (int h in held)
        {
            double drawn = model.Parameters[h].DrawnSigma;
            double[] off = [.. p];
            off[h] += 0.1 * drawn;
            HingeGeometry near = model.Build(off) ?? model.Build(p)!;
            HingeGeometry here = model.Build(p)!;
            Vector<double> change = Vector<double>.Build.DenseOfEnumerable(good.Select(i =>
            {
                double d = near.AngleRad(r[i].RodMm) + off[^1] - here.AngleRad(r[i].RodMm) - p[^1];
                return double.IsNaN(d) ? 0 : -d / (0.1 * sigma[i]);
            }));
            Vector<double> moved = Vector<double>.Build.Dense(n);
            moved[h] = drawn;
            if (held.Count < n)
            {
                Vector<double> answer = -(f.Fit.NormalInverse * (j2.Transpose() * change));
                for (int i = 0; i < f.Free.Length; i++)
                {
                    moved[f.Free[i]] = answer[i];
                }
            }

            spread += moved.OuterProduct(moved);
        }

        return spread;
    }

    // Hinge angle over the drive's first half hour, the rod moving as the file's numbers say: by fitted numbers and by
    // the file's.
    private static (double RatePpm, double SigmaPpm) Rate(RigDescription rig, RodModel model, double[] p,
        Matrix<double> covariance)
    {
        DriveDesign drive = RigDrive.Design(rig);
        double sec = Math.Min(DriveSec, drive.TravelSec);
        double from = rig.Hinge.RodLengthMm(drive.AngleRadAt(0));
        double to = rig.Hinge.RodLengthMm(drive.AngleRadAt(sec));
        double meant = drive.AngleRadAt(sec) - drive.AngleRadAt(0);
        double Turned(double[] q) => model.Build(q) is { } h ? h.AngleRad(to) - h.AngleRad(from) : double.NaN;
        Vector<double> slope = Vector<double>.Build.Dense(p.Length, i =>
        {
            double step = 0.01 * model.Parameters[i].DrawnSigma;
            double[] off = [.. p];
            off[i] += step;
            double d = (Turned(off) - Turned(p)) / step;
            return double.IsNaN(d) ? 0 : d / meant;
        });
        return (((Turned(p) / meant) - 1) * 1e6, Math.Sqrt(slope * covariance * slope) * 1e6);
    }

    private static string Shown(RodParameter parameter) => "the rig file's " + Shown(parameter, parameter.FileValue);

    private static string Shown(RodParameter parameter, double value) => parameter.Unit == "rad"
        ? $"{AngleUnits.ToDeg(value):0.00}°"
        : $"{value:0.0#} {parameter.Unit}";
}
