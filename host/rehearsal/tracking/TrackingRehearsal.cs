using Hourhinge.Rehearsal.Mechanisms;
using Hourhinge.Rehearsal.Rig;
using Hourhinge.Rig;
using Hourhinge.SharedMath.Geometry;

namespace Hourhinge.Rehearsal.Tracking;

/// <summary>What to rehearse.</summary>
public sealed record RehearsalOptions
{
    /// <summary>Minutes to track; the travel's end stops earlier.</summary>
    public double Minutes { get; init; } = 60;

    /// <summary>Period of the firmware's loop, ms.</summary>
    public double LoopPeriodMs { get; init; } = 1;

    /// <summary>The board and the rig as built.</summary>
    public VirtualRigOptions Board { get; init; } = new();

    /// <summary>How much the constant-voltage drive slows as its battery sags, percent over the rehearsal.</summary>
    public double SagPercent { get; init; }

    /// <summary>Interval between two points of the recorded curves, s.</summary>
    public double SampleIntervalSec { get; init; } = 5;
}

/// <summary>The error curves and their summary. Errors are hinge angle minus sky, arcseconds; negative lags.</summary>
public sealed record RehearsalResult
{
    /// <summary>Minutes tracked.</summary>
    public required double TrackedMinutes { get; init; }

    /// <summary>Largest |error| at any instant, measured before and after every microstep.</summary>
    public required double PeakArcsec { get; init; }

    /// <summary>Root mean square of the error, over all runs of the loop.</summary>
    public required double RmsArcsec { get; init; }

    /// <summary>Largest |error| in the first minute.</summary>
    public required double PeakFirstMinuteArcsec { get; init; }

    /// <summary>Largest |error| in the last minute.</summary>
    public required double PeakLastMinuteArcsec { get; init; }

    /// <summary>Half a microstep where it is largest within the time tracked.</summary>
    public required double HalfStepArcsec { get; init; }

    /// <summary>Lateness that the controller measured of itself, worst and mean, s.</summary>
    public required string LatenessSec { get; init; }

    /// <summary>Pulses sent and pulses lost.</summary>
    public required (long Sent, long Lost) Pulses { get; init; }

    /// <summary>State of the controller at the end.</summary>
    public required string FinalState { get; init; }

    /// <summary>Curve: minutes.</summary>
    public required double[] Minutes { get; init; }

    /// <summary>Curve: error at that moment, with Hourhinge.</summary>
    public required double[] InstantArcsec { get; init; }

    /// <summary>Rate of the sky, rad/s: with the instant error, how far the hinge has turned.</summary>
    public required double SkyRadPerSec { get; init; }

    /// <summary>Curve: error of largest size since the point before, with Hourhinge.</summary>
    public required double[] TrackedArcsec { get; init; }

    /// <summary>Curve: the same rig on a constant-voltage drive that was right at the start.</summary>
    public required double[] ConstantArcsec { get; init; }

    /// <summary>Runs of the firmware's loop.</summary>
    public required long LoopCount { get; init; }
}

/// <summary>
/// Runs the firmware in virtual time against a mechanism solved from points in the plane, and measures the
/// difference between hinge and sky.
/// </summary>
public sealed class TrackingRehearsal
{
    private readonly RigDescription _rig;
    private readonly CompiledDrive _drive;
    private readonly byte[] _rigFile;
    private readonly RehearsalOptions _options;
    private readonly double _skyRadPerSec;
    private double _startSec;
    private double _peak;
    private double _peakFirst;
    private double _peakLast;
    private double _lastMinuteFromSec;
    private double _worstSincePoint;

    /// <summary>Prepares a rehearsal of a rig.</summary>
    public TrackingRehearsal(RigDescription rig, CompiledDrive drive, byte[] rigFile, RehearsalOptions options)
    {
        _rig = rig;
        _drive = drive;
        _rigFile = rigFile;
        _options = options;
        // The sky's rate does not contain the rig's corrections.
        _skyRadPerSec = RigDrive.RateRadPerSec(rig with { Rate = rig.Rate.Uncorrected });
    }

    /// <summary>Runs it; <paramref name="progress"/> receives the fraction done, 0 to 1.</summary>
    public RehearsalResult Run(Action<double>? progress = null)
    {
        var board = new VirtualRig(_rig, _drive, _options.Board);
        if (board.Upload(_rigFile, _drive.Bytes) is { } uploadError)
        {
            throw new InvalidOperationException($"the virtual controller rejected the profile: {uploadError}");
        }

        double seconds = Math.Min(_options.Minutes * 60, _drive.Design.TravelSec);
        _lastMinuteFromSec = seconds - 60;
        Mechanism mechanism = board.Mechanism;
        string error = board.Query("INITiate;:SYSTem:ERRor?");
        if (!error.StartsWith("0,", StringComparison.Ordinal))
        {
            throw new InvalidOperationException($"the virtual controller did not start: {error}");
        }

        // Sky time starts with profile time, which includes the time that the link has taken since the start.
        _startSec = board.Clock.TrueSec - (board.Machine.Controller.ProfileUs * 1e-6);
        board.Stepper.StepMeasured = at => Record(mechanism, board.TrackedMicrosteps(), at);
        return Track(board, seconds, progress);
    }

    private RehearsalResult Track(VirtualRig board, double seconds, Action<double>? progress)
    {
        var minutes = new List<double>();
        var tracked = new List<double>();
        var constant = new List<double>();
        var instant = new List<double>();
        double squares = 0;
        long loops = 0;
        double nextPoint = 0;
        for (double t = 0; t < seconds; t = board.Clock.TrueSec - _startSec)
        {
            board.Update(_options.LoopPeriodMs * 1000);
            loops++;
            double now = board.Clock.TrueSec;
            double error = Record(board.Mechanism, board.TrackedMicrosteps(), now);
            squares += error * error;
            if (now - _startSec < nextPoint)
            {
                continue;
            }

            minutes.Add((now - _startSec) / 60);
            tracked.Add(_worstSincePoint);
            instant.Add(error);
            constant.Add(ConstantError(board.Mechanism, now - _startSec, seconds));
            _worstSincePoint = 0;
            nextPoint += _options.SampleIntervalSec;
            progress?.Invoke(nextPoint / seconds);
        }

        return new RehearsalResult
        {
            TrackedMinutes = seconds / 60,
            PeakArcsec = _peak,
            RmsArcsec = Math.Sqrt(squares / loops),
            PeakFirstMinuteArcsec = _peakFirst,
            PeakLastMinuteArcsec = _peakLast,
            HalfStepArcsec = Enumerable.Range(0, 101).Max(i => _drive.Design.ArcsecPerCountAt(seconds * i / 100)) / 2,
            FinalState = board.Query("MOTion:STATe?"),
            LatenessSec = board.Query("MOTion:LATeness?"),
            Pulses = (board.Stepper.Pulses, board.Stepper.LostPulses),
            Minutes = [.. minutes],
            TrackedArcsec = [.. tracked],
            ConstantArcsec = [.. constant],
            InstantArcsec = [.. instant],
            SkyRadPerSec = _skyRadPerSec,
            LoopCount = loops,
        };
    }

    private double Record(Mechanism mechanism, long microsteps, double atSec)
    {
        double t = atSec - _startSec;
        double error = AngleUnits.ToArcsec(mechanism.TurnedRad(microsteps) - (_skyRadPerSec * t));
        double size = Math.Abs(error);
        _peak = Math.Max(_peak, size);
        _peakFirst = t <= 60 ? Math.Max(_peakFirst, size) : _peakFirst;
        _peakLast = t >= _lastMinuteFromSec ? Math.Max(_peakLast, size) : _peakLast;
        _worstSincePoint = size > Math.Abs(_worstSincePoint) ? error : _worstSincePoint;
        return error;
    }

    /// <summary>
    /// Error of a motor on a fixed voltage that was right at the start: constant rod speed, reduced in proportion to
    /// the sag.
    /// </summary>
    public double ConstantError(Mechanism mechanism, double t, double seconds)
    {
        double speed = _skyRadPerSec * mechanism.LeverMmPerRad;
        double travelled = speed * t * (1 - (_options.SagPercent / 100 * t / seconds / 2));
        double turned = mechanism.TurnedRadAtRod(mechanism.ConstantSpeedRodMm(travelled));
        return AngleUnits.ToArcsec(turned - (_skyRadPerSec * t));
    }
}
