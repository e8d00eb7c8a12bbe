// What the maker built, as read from the rig file, checked and in the units of the key names. No arithmetic here:
// the hinge's mathematics is shared-math's, and RigDrive.cs connects the two.

using Hourhinge.SharedMath.Geometry;

namespace Hourhinge.Rig;

/// <summary>A rig. Immutable.</summary>
public sealed record RigDescription(
    string Name,
    HingeGeometry Hinge,
    bool Opens,
    RodData Rod,
    GearTrain MotorTurnsPerNutTurn,
    MotorData Motor,
    SwitchData Switches,
    RateData Rate,
    double ClockTrimPpm,
    IReadOnlyList<PeriodicData> Periodic,
    CameraData? Camera,
    SiteData? Site,
    CalibrationData? Calibration)
{
    /// <summary>The wheels behind <see cref="MotorTurnsPerNutTurn"/>, as the file has them.</summary>
    public GearData Gear { get; init; } = new([], [], 0);

    /// <summary>The pack in use; null where the file does not describe it.</summary>
    public MeasuredPack? Pack { get; init; }

    /// <summary>Lenses that `calibrate stars` has measured.</summary>
    public IReadOnlyList<LensData> Lenses { get; init; } = [];

    /// <summary>The measured lens of a marked focal length; null where it was not measured.</summary>
    public LensData? MeasuredLens(double markedMm) =>
        Lenses.FirstOrDefault(l => Math.Abs((l.MarkedMm / markedMm) - 1) < 0.005);
}

/// <summary>
/// Wheels as pairs of tooth counts (nut side, motor side), between motor and nut and inside the motor's gearbox, and a
/// measured correction of the whole ratio, ppm: positive when the nut needs more motor turns than the teeth say.
/// </summary>
public sealed record GearData(IReadOnlyList<int[]> Pairs, IReadOnlyList<int[]> Gearbox, double CorrectionPpm)
{
    /// <summary>
    /// The simplest fraction within 0.05 ppm of 1 + correction (0.001 arcsec in half an hour), so that the steps for
    /// a nut turn stay an exact fraction. Found by walking the Stern-Brocot tree.
    /// </summary>
    public (int Numerator, int Denominator) CorrectionFraction()
    {
        double target = 1 + (CorrectionPpm * 1e-6);
        (int n, int d) low = (0, 1);
        (int n, int d) high = (2, 1);
        (int n, int d) at = (1, 1);
        while (Math.Abs(((double)at.n / at.d) - target) > 5e-8)
        {
            if ((double)at.n / at.d < target)
            {
                low = at;
            }
            else
            {
                high = at;
            }

            at = (low.n + high.n, low.d + high.d);
        }

        return at;
    }
}

/// <summary>The threaded rod.</summary>
public sealed record RodData(string Thread, double PitchMm, double ShortestMm, double LongestMm);

/// <summary>The motor. Steps are microsteps.</summary>
public sealed record MotorData(
    int FullSteps,
    int Microsteps,
    int PullInStepsPerSec,
    int RewindStepsPerSec,
    int RampStepsPerSec2,
    int ApproachStepsPerSec,
    bool Reversed,
    bool ReleaseWhenIdle)
{
    /// <summary>What a DC motor needs besides; null for a stepper. Its steps are encoder counts, or without an encoder
    /// fractions of a motor turn.</summary>
    public DcData? Dc { get; init; }

    /// <summary>What the drive counts, in words: one of them.</summary>
    public string CountName => Dc == null ? "microstep" : Dc.HasEncoder ? "encoder count" : "count";

    /// <summary>The same, several of them.</summary>
    public string CountNames => CountName + "s";
}

/// <summary>A DC gear motor: measured speed of the nut against duty, at one supply voltage.</summary>
public sealed record DcData(
    bool HasEncoder, bool HasBridge, double CurveVolts, double MinVolts, double BreakAwayPercent,
        IReadOnlyList<(double DutyPercent, double NutTurnsPerMin)> Curve);

/// <summary>A pack by its label: <paramref name="Volts"/> at the board, and the voltage at which the label's mAh are
/// counted. A USB bank's label counts its cells, at 3.7 V.</summary>
public record PackData(double Volts, double Mah, double LabelVolts)
{
    /// <summary>Share of the label that is counted on, converter, cold and age included. Common practice, no
    /// source.</summary>
    public const double UsableShare = 0.8;

    /// <summary>Hours at a current at the board, mA.</summary>
    public double HoursAt(double milliamperes) => Mah * LabelVolts / Volts * UsableShare / milliamperes;
}

/// <summary>A pack with the current that motor and controller draw together while tracking, mA at the board.</summary>
public sealed record MeasuredPack(double Volts, double Mah, double LabelVolts, double CurrentMa)
    : PackData(Volts, Mah, LabelVolts)
{
    /// <summary>Hours that it lasts.</summary>
    public double Hours => HoursAt(CurrentMa);
}

/// <summary>Limit switches that are fitted.</summary>
public sealed record SwitchData(bool Home, bool End, double BackOffMm);

/// <summary>Which rate to follow, and a correction on top of it, ppm.</summary>
public sealed record RateData(string Follow, double CorrectionPpm, double? DeclinationDeg, double? HourAngleHours)
{
    /// <summary>Change of the correction along the travel: ppm an hour, ppm an hour squared, held from this minute
    /// on.</summary>
    public (double SlopePpmPerHour, double CurvePpmPerHour2, double HoldMin) Change { get; init; }

    /// <summary>The sky's own rate, without what this rig needs.</summary>
    public RateData Uncorrected => this with { CorrectionPpm = 0, Change = default };
}

/// <summary>A periodic error of the nut: period in nut turns, amplitude in micrometres along the rod, phase in
/// degrees.</summary>
public sealed record PeriodicData(double PeriodNutTurns, double AmplitudeUm, double PhaseDeg);

/// <summary>A measured lens: focal length marked and true, radial distortion r(1 + k1 r² + k2 r⁴) with r as the tangent
/// of the angle from the frame's centre.</summary>
public sealed record LensData(double MarkedMm, double FocalLengthMm, double K1, double K2)
{
    /// <summary>Standard error of the focal length, mm; 0 where the file does not tell.</summary>
    public double SigmaMm { get; init; }

    /// <summary>Day of the measurement, as the file has it; empty for none.</summary>
    public string Measured { get; init; } = "";
}

/// <summary>The camera's sensor and the lenses that go with it.</summary>
public sealed record CameraData(double PixelUm, int WidthPx, int HeightPx, IReadOnlyList<double> LensesMm);

/// <summary>The usual site; longitude east positive.</summary>
public sealed record SiteData(string Name, double LatitudeDeg, double LongitudeDeg, double HeightM)
{
    /// <summary>IANA time zone; empty for UTC.</summary>
    public string TimeZone { get; init; } = "";
}

/// <summary>What calibration has found, with its standard uncertainties (one sigma).</summary>
public sealed record CalibrationData(string Date, string Method, double? RateUncertaintyPpm, double? ArmUncertaintyMm,
    double? AxisErrorArcmin)
{
    /// <summary>Digest of the drive's constants after the last change by a calibration; empty for none.</summary>
    public string DriveDigest { get; init; } = "";

    /// <summary>UTC from which those constants hold; empty for none.</summary>
    public string DriveSince { get; init; } = "";

    /// <summary>The method that made that change; empty for none.</summary>
    public string DriveBy { get; init; } = "";

    /// <summary>By method (turns, motor, rod, stars): digests of drive and readings of its last correction.</summary>
    public IReadOnlyDictionary<string, string> Against { get; init; } = new Dictionary<string, string>();
}
