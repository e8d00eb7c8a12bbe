using Hourhinge.Firmware;
using Hourhinge.Firmware.Control;
using Hourhinge.Firmware.Guards;
using Hourhinge.Firmware.Storage;
using Hourhinge.Rehearsal.Board;
using Hourhinge.Rehearsal.Dc;
using Hourhinge.Rehearsal.Mechanisms;
using Hourhinge.SharedMath.Compile;
using Hourhinge.SharedMath.Geometry;
using Hourhinge.SharedMath.Profile;

namespace Hourhinge.Tests.Firmware.Logic.Drives;

/// <summary>Tracking error of a DC drive after settling: hinge minus sky, arcsec.</summary>
public sealed record DcRehearsalResult(
    double RmsArcsec,
    double PeakArcsec,
    double RateErrorPercent,
    double WorstMinuteRateErrorPercent,
    double FinalArcsec,
    string FinalState,
    int FinalMillivolts);

/// <summary>
/// The firmware's DC drives on a virtual motor and a linkage that is solved from points in the plane, in virtual time,
/// with a sagging pack and a load that changes with the opening.
/// </summary>
public sealed class DcRehearsal
{
    private readonly DriveDesign _design;
    private readonly Linkage _linkage;
    private readonly double _startRodMm;

    /// <summary>Prepares for a swivelled hinge that opens.</summary>
    public DcRehearsal(SwivelledRodHinge hinge, DriveDesign design)
    {
        _design = design;
        _linkage = new SwivelledLinkage(hinge.NutArmMm, hinge.AnchorArmMm, hinge.BendRadiusMm);
        _startRodMm = hinge.RodLengthMm(design.StartAngleRad);
        Clock = new VirtualClock();
        Pack = new VirtualPack(Clock);
    }

    /// <summary>The motor.</summary>
    public DcMotorConstants Constants { get; init; } = new();

    /// <summary>Load of the nut at the start, N·m.</summary>
    public double LoadNm { get; init; } = 0.013;

    /// <summary>The load swings by this share of itself, three times over the travel.</summary>
    public double LoadSwing { get; init; }

    /// <summary>Rough thread: the load differs by up to this share of itself, with a new value each fiftieth of a
    /// nut turn.</summary>
    public double LoadRoughness { get; init; }

    /// <summary>Time to settle before errors count, s.</summary>
    public double SettleSec { get; init; } = 60;

    /// <summary>Length of the rehearsal, s, from the start of tracking.</summary>
    public double Seconds { get; init; } = 3600;

    /// <summary>The loop period varies at random from 1 ms to this, ms.</summary>
    public double MaxLoopPeriodMs { get; init; } = 20;

    /// <summary>The clock.</summary>
    public VirtualClock Clock { get; }

    /// <summary>The pack.</summary>
    public VirtualPack Pack { get; }

    /// <summary>Tracks with the profile's drive; the profile is stored in flash as if uploaded before.</summary>
    public DcRehearsalResult Track(DriveProfile profile)
    {
        VirtualDcMotor motor = Motor();
        var flash = new VirtualFlash();
        byte[] bytes = ProfileCodec.Encode(profile);
        var store = new ProfileStore(flash);
        store.Load();
        if (!store.Save(profile, bytes, 0, bytes.Length, []))
        {
            throw new InvalidOperationException(store.Error);
        }

        var machine = new Machine(new HardwareInterfaces
        {
            Clock = Clock,
            Pwm = motor,
            Encoder = profile.DriveKind == DriveProfile.DcClosedLoop ? motor : null,
            Supply = Pack,
            Home = new VirtualInput(),
            End = new VirtualInput(),
            Storage = flash,
            Link = new ByteQueueLink(),
        });
        if ((machine.Controller.DeclarePosition(0) ?? machine.Controller.Start(false)) is { } error)
        {
            throw new InvalidOperationException(error);
        }

        double start = Clock.TrueSec;
        return Measure(motor, start, machine.Update, () => ControllerState.Name(machine.Controller.State),
            machine.Supply);
    }

    /// <summary>The same motor on a constant duty, trimmed to the sky's rate at the start, for
    /// comparison.</summary>
    public DcRehearsalResult ConstantDuty(int duty)
    {
        VirtualDcMotor motor = Motor();
        motor.SetDutyPerTenThousand(10000);
        Clock.AdvanceTo(Clock.TrueUs + 50000);
        motor.SetDutyPerTenThousand(duty);
        return Measure(motor, Clock.TrueSec, () => { }, () => "CONSTANT", null);
    }

    private VirtualDcMotor Motor()
    {
        double travelTurns = Seconds * _design.NutTurnsPerMinuteAt(0) / 60;
        return new VirtualDcMotor(Clock, Pack, Constants)
        {
            LoadNm = (turns, _) => LoadNm
                * (1 + (LoadSwing * Math.Sin(6 * Math.PI * turns / travelTurns))
                    + (LoadRoughness * RoughnessAt((long)Math.Floor(turns * 50)))),
        };
    }

    // A fixed pseudo-random value for each place, -1 to 1.
    private static double RoughnessAt(long place) =>
        ((((ulong)place * 0x9E3779B97F4A7C15UL) >> 40) / (double)(1 << 23)) - 1;

    private DcRehearsalResult Measure(
        VirtualDcMotor motor, double start, Action update, Func<string> state, SupplyMonitor? supply)
    {
        var random = new Random(3);
        double squares = 0;
        double peak = 0;
        long samples = 0;
        double settledError = double.NaN;
        double error = 0;
        double worstMinute = 0;
        double minuteFrom = SettleSec;
        double minuteError = double.NaN;
        double startAngle = _linkage.AngleRad(_startRodMm);
        while (Clock.TrueSec - start < Seconds)
        {
            update();
            Clock.AdvanceTo(Clock.TrueUs + 1000 + (random.NextDouble() * 1000 * (MaxLoopPeriodMs - 1)));
            double t = Clock.TrueSec - start;
            if (t < SettleSec)
            {
                continue;
            }

            double rod = _startRodMm + (motor.NutTurns * _design.PitchMm);
            error = AngleUnits.ToArcsec(_linkage.AngleRad(rod) - startAngle - (_design.RateRadPerSec * t));
            settledError = double.IsNaN(settledError) ? error : settledError;
            minuteError = double.IsNaN(minuteError) ? error : minuteError;
            if (t >= minuteFrom + 60)
            {
                worstMinute = Math.Max(worstMinute,
                    Math.Abs(error - minuteError) / AngleUnits.ToArcsec(_design.RateRadPerSec * (t - minuteFrom)));
                minuteFrom = t;
                minuteError = error;
            }

            squares += error * error;
            peak = Math.Max(peak, Math.Abs(error));
            samples++;
        }

        double sky = AngleUnits.ToArcsec(_design.RateRadPerSec * (Seconds - SettleSec));
        return new DcRehearsalResult(
            Math.Sqrt(squares / samples), peak, (error - settledError) / sky * 100, worstMinute * 100, error, state(),
            supply?.Millivolts ?? -1);
    }
}
