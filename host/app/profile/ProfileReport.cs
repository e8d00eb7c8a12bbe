using Hourhinge.App.Common;
using Hourhinge.Rig;
using Hourhinge.SharedMath.Compile;
using Hourhinge.SharedMath.Geometry;

namespace Hourhinge.App.Profile;

/// <summary>The constants of a rig. Computed once; printed as table, JSON, CSV, picture or page.</summary>
internal sealed class ProfileReport
{
    /// <summary>Times at which the uncorrected error is printed, minutes.</summary>
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
        Accuracy = ProfileAccuracy.Measure(loaded.Drive);
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

    /// <summary>The compiled profile against the closed form.</summary>
    public ProfileAccuracy Accuracy { get; }

    public double[] CurveMinutes { get; }

    public double[] CurveNutTurnsPerMin { get; }

    public double[] CurveUncorrectedArcsec { get; }

    /// <summary>Start, middle and end of the travel, s.</summary>
    public double[] Stations => [0, _design.TravelSec / 2, _design.TravelSec];

    public double StartAngleDeg => AngleUnits.ToDeg(_design.StartAngleRad);

    public double EndAngleDeg => AngleUnits.ToDeg(_design.EndAngleRad);

    public double RateArcsecPerSec => AngleUnits.ToArcsec(_design.RateRadPerSec);

    public GearTrain StepsPerNutTurn => _design.CountsPerNutTurn;

    /// <summary>Counts of a nut turn in words, exact where the decimal is not.</summary>
    public string StepsPerNutTurnText => ConsoleOutput.Exact(StepsPerNutTurn)
        + (StepsPerNutTurn.Denominator == 1 ? "" : $" = {ConsoleOutput.Number(StepsPerNutTurn.Ratio, 3)}")
        + $" {Rig.Motor.CountNames}";

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
            double rodMm = _design.Geometry.RodLengthMm(angle);
            yield return $"{t:F3},{AngleUnits.ToDeg(angle):F5},{rodMm:F4},{_design.CountsAt(t):F2},"
                + $"{StepsPerSec(t):F4},{NutTurnsPerMin(t):F6},{Uncorrected(t):F3}";
        }
    }
}
