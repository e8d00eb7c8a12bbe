using Hourhinge.App.Common;
using Hourhinge.Rig;
using Hourhinge.SharedMath.Compile;
using Hourhinge.SharedMath.Geometry;
using Hourhinge.SharedMath.Profile;

namespace Hourhinge.App.Profile;

/// <summary>The constants of a rig that a maker needs. Computed once, printed as table, JSON, CSV or picture.</summary>
internal sealed class ProfileReport
{
    /// <summary>Times at which the uncorrected error is told, minutes.</summary>
    public static readonly int[] TableMinutes = [5, 10, 20, 30, 60, 90];

    private readonly DriveDesign _design;

    /// <summary>Computes everything from a loaded rig.</summary>
    public ProfileReport(LoadedRig loaded)
    {
        Rig = loaded.Rig;
        _design = loaded.Drive.Design;
        TravelMin = _design.TravelSec / 60;
        ProfileBytes = loaded.Drive.Bytes.Length;
        Segments = loaded.Drive.Profile.DurationMs.Length;
        EvaluatorBoundSteps = loaded.Drive.ErrorBoundSteps;
        MeasureEvaluator(loaded.Drive.Profile);
        int points = (int)Math.Clamp(_design.TravelSec / 10, 10, 2000);
        double[] seconds = [.. Enumerable.Range(0, points + 1).Select(i => _design.TravelSec * i / points)];
        CurveMinutes = [.. seconds.Select(t => t / 60)];
        CurveNutTurnsPerMin = [.. seconds.Select(_design.NutTurnsPerMinuteAt)];
        CurveUncorrectedArcsec = [.. seconds.Select(Uncorrected)];
    }

    public RigDescription Rig { get; }

    public double TravelMin { get; }

    public int ProfileBytes { get; }

    public int Segments { get; }

    /// <summary>Proved bound of the evaluator's error, microsteps.</summary>
    public double EvaluatorBoundSteps { get; }

    /// <summary>Largest evaluator error at every second of the travel, microsteps.</summary>
    public double EvaluatorWorstSteps { get; private set; }

    /// <summary>The same as hinge angle, arcsec.</summary>
    public double EvaluatorWorstArcsec { get; private set; }

    public double[] CurveMinutes { get; }

    public double[] CurveNutTurnsPerMin { get; }

    public double[] CurveUncorrectedArcsec { get; }

    /// <summary>Start, middle and end of the travel, s.</summary>
    public double[] Stations => [0, _design.TravelSec / 2, _design.TravelSec];

    public double StartAngleDeg => AngleUnits.ToDeg(_design.StartAngleRad);

    public double EndAngleDeg => AngleUnits.ToDeg(_design.EndAngleRad);

    public double RateArcsecPerSec => AngleUnits.ToArcsec(_design.RateRadPerSec);

    public GearTrain StepsPerNutTurn => _design.CountsPerNutTurn;

    /// <summary>Nut turns a minute at a time, s.</summary>
    public double NutTurnsPerMin(double sec) => _design.NutTurnsPerMinuteAt(sec);

    /// <summary>Microsteps a second at a time, s.</summary>
    public double StepsPerSec(double sec) => _design.CountsPerSecAt(sec);

    /// <summary>Arcseconds a microstep at a time, s.</summary>
    public double ArcsecPerStep(double sec) => _design.ArcsecPerCountAt(sec);

    /// <summary>Speed needed, against the speed at the start, percent.</summary>
    public double CorrectionPercent(double sec) =>
        ((_design.CountsPerSecAt(sec) / _design.CountsPerSecAt(0)) - 1) * 100;

    /// <summary>How far a constant speed, right at the start, is ahead of the sky, arcsec; NaN beyond the
    /// travel.</summary>
    public double Uncorrected(double sec) => sec > _design.TravelSec
        ? double.NaN
        : AngleUnits.ToArcsec(_design.Geometry.UncorrectedErrorRad(_design.StartAngleRad,
            _design.AngleSign * _design.RateRadPerSec * sec));

    /// <summary>Rows for --csv.</summary>
    public IEnumerable<string> CsvRows()
    {
        yield return "time_s,angle_deg,rod_mm,position_steps,steps_per_s,nut_turns_per_min,uncorrected_error_arcsec";
        foreach (double minutes in CurveMinutes)
        {
            double t = minutes * 60;
            double angle = _design.AngleRadAt(t);
            yield return string.Create(
                System.Globalization.CultureInfo.InvariantCulture,
                $"{t:F1},{AngleUnits.ToDeg(angle):F5},{_design.Geometry.RodLengthMm(angle):F4},{_design.CountsAt(t):F2},{StepsPerSec(t):F4},{NutTurnsPerMin(t):F6},{Uncorrected(t):F3}");
        }
    }

    private void MeasureEvaluator(DriveProfile profile)
    {
        var evaluator = new ProfileEvaluator(profile);
        for (int s = 0; s <= (int)_design.TravelSec; s++)
        {
            double error =
                Math.Abs(((double)evaluator.PositionQ16(s * 1000000L) / DriveProfile.OneCount) - _design.CountsAt(s));
            EvaluatorWorstSteps = Math.Max(EvaluatorWorstSteps, error);
            EvaluatorWorstArcsec = Math.Max(EvaluatorWorstArcsec, error * _design.ArcsecPerCountAt(s));
        }
    }
}
