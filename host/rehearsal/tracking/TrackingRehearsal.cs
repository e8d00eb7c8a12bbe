using System.Globalization;
using Hourhinge.Rehearsal.Mechanisms;
using Hourhinge.Rehearsal.Rig;
using Hourhinge.Rig;
using Hourhinge.SharedMath.Geometry;

namespace Hourhinge.Rehearsal.Tracking;

/// <summary>
/// Runs the firmware in virtual time against a mechanism solved from points in the plane, and measures the
/// difference between hinge and sky. The same for steppers and DC motors.
/// </summary>
public sealed class TrackingRehearsal
{
    // A DC motor turns all the time: its position is measured at this interval, in which the sky moves 0.15 arcsec.
    private const double MotorSampleSec = 0.01;
    private const double MotorSettleSec = 60;

    private readonly RigDescription _rig;
    private readonly CompiledDrive _drive;
    private readonly byte[] _rigFile;
    private readonly RehearsalOptions _options;
    private readonly double _skyRadPerSec;
    private readonly double _seconds;
    private readonly double _settleSec;
    private double _startSec;
    private double _peak;
    private double _peakFirst;
    private double _peakLast;
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
        _seconds = Math.Min(options.Minutes * 60, drive.Design.TravelSec);
        _settleSec = rig.Motor.Dc == null ? 0 : Math.Min(MotorSettleSec, _seconds / 4);
    }

    /// <summary>Runs it; <paramref name="progress"/> receives the fraction done, 0 to 1.</summary>
    /// <exception cref="OperationCanceledException">Cancelled.</exception>
    public RehearsalResult Run(Action<double>? progress = null, CancellationToken cancel = default)
    {
        var board = new VirtualRig(_rig, _drive, _options.Board);
        if (board.Pack is { } pack)
        {
            double full = _rig.Motor.Dc!.CurveVolts;
            pack.OpenCircuitVolts = t => full * (1 - (_options.SagPercent / 100 * Math.Min(1, t / _seconds)));
        }

        if (board.Upload(_rigFile, _drive.Bytes) is { } uploadError)
        {
            throw new InvalidOperationException($"the virtual controller rejected the profile: {uploadError}");
        }

        // Without a home switch the maker turns the hinge to its start by hand and declares it.
        string begin = _rig.Switches.Home ? "INITiate" : "MOTion:POSition:DECLare 0;:INITiate";
        string error = board.Query(begin + ";:SYSTem:ERRor?");
        if (!error.StartsWith("0,", StringComparison.Ordinal))
        {
            throw new InvalidOperationException($"the virtual controller did not start: {error}");
        }

        // Sky time starts with profile time, which includes the time that the link has taken since the start.
        _startSec = board.Clock.TrueSec - (board.Machine.Controller.ProfileUs * 1e-6);
        if (board.Stepper is { } stepper)
        {
            stepper.StepMeasured = at => Record(board, at);
        }

        return Track(board, progress, cancel);
    }

    private RehearsalResult Track(VirtualRig board, Action<double>? progress, CancellationToken cancel)
    {
        var minutes = new List<double>();
        var tracked = new List<double>();
        var constant = new List<double>();
        var instant = new List<double>();
        double squares = 0;
        long samples = 0;
        long loops = 0;
        double nextPoint = 0;
        double nextSample = 0;
        double settledError = double.NaN;
        double error = 0;
        for (double t = 0; t < _seconds; t = board.Clock.TrueSec - _startSec)
        {
            board.Update(_options.LoopPeriodMs * 1000);
            loops++;
            double now = board.Clock.TrueSec - _startSec;
            if (now < nextSample)
            {
                continue;
            }

            nextSample = board.DcMotor == null ? 0 : now + MotorSampleSec;
            error = Record(board, board.Clock.TrueSec);
            if (now >= _settleSec)
            {
                settledError = double.IsNaN(settledError) ? error : settledError;
                squares += error * error;
                samples++;
            }

            if (now < nextPoint)
            {
                continue;
            }

            cancel.ThrowIfCancellationRequested();
            minutes.Add(now / 60);
            tracked.Add(_worstSincePoint);
            instant.Add(error);
            constant.Add(ConstantError(board.Mechanism, now));
            _worstSincePoint = 0;
            nextPoint += _options.SampleIntervalSec;
            progress?.Invoke(nextPoint / _seconds);
        }

        double sky = AngleUnits.ToArcsec(_skyRadPerSec * (_seconds - _settleSec));
        double constantDrift = ConstantError(board.Mechanism, _seconds) - ConstantError(board.Mechanism, _settleSec);
        string[] lateness = board.Query("MOTion:LATeness?").Split(',');
        return new RehearsalResult
        {
            TrackedMinutes = _seconds / 60,
            Drive = _rig.Motor.Dc == null ? "stepper" : _rig.Motor.Dc.HasEncoder ? "dc-encoder" : "dc",
            SettleSec = _settleSec,
            PeakArcsec = _peak,
            RmsArcsec = Math.Sqrt(squares / samples),
            PeakFirstMinuteArcsec = _peakFirst,
            PeakLastMinuteArcsec = _peakLast,
            RateErrorPercent = (error - settledError) / sky * 100,
            ConstantRateErrorPercent = constantDrift / sky * 100,
            HalfCountArcsec =
                Enumerable.Range(0, 101).Max(i => _drive.Design.ArcsecPerCountAt(_seconds * i / 100)) / 2,
            FinalState = board.Query("MOTion:STATe?"),
            LatenessSec = (double.Parse(lateness[0], CultureInfo.InvariantCulture),
                double.Parse(lateness[1], CultureInfo.InvariantCulture)),
            Pulses = board.Stepper is { } stepper ? (stepper.Pulses, stepper.LostPulses) : null,
            FinalVolts = board.Machine.Supply.Millivolts < 0 ? null : board.Machine.Supply.Millivolts / 1000.0,
            Minutes = [.. minutes],
            TrackedArcsec = [.. tracked],
            ConstantArcsec = [.. constant],
            InstantArcsec = [.. instant],
            SkyRadPerSec = _skyRadPerSec,
            LoopCount = loops,
        };
    }

    private double Record(VirtualRig board, double atSec)
    {
        double t = atSec - _startSec;
        double error = AngleUnits.ToArcsec(board.Mechanism.TurnedRad(board.TrackedCounts) - (_skyRadPerSec * t));
        double size = Math.Abs(error);
        _peak = t >= _settleSec ? Math.Max(_peak, size) : _peak;
        _peakFirst = t <= 60 ? Math.Max(_peakFirst, size) : _peakFirst;
        _peakLast = t >= _seconds - 60 ? Math.Max(_peakLast, size) : _peakLast;
        _worstSincePoint = size > Math.Abs(_worstSincePoint) ? error : _worstSincePoint;
        return error;
    }

    // A motor on a voltage that was set by eye: its speed is off by a percentage from the start and falls in
    // proportion to the sag. The rig's own faults act on it as on the other drive.
    private double ConstantError(Mechanism mechanism, double t)
    {
        double right = _skyRadPerSec * mechanism.LeverMmPerRad * t;
        double nutMm = right * (1 + (_options.ByEyePercent / 100))
            * (1 - (_options.SagPercent / 100 * t / _seconds / 2));
        return AngleUnits.ToArcsec(mechanism.TurnedRadAfter(nutMm) - (_skyRadPerSec * t));
    }
}
