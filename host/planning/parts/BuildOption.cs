// One complete build out of the box, and the rules by which it is judged.

using Hourhinge.SharedMath.Geometry;

namespace Hourhinge.Planning.Parts;

/// <summary>A build. Microsteps is 1 for a DC motor.</summary>
public sealed record BuildOption(HingeOption Hinge, MotorPart Motor, WheelTrain Train, int Microsteps)
{
    /// <summary>Turns of the motor's own shaft for a turn of the nut, exact; null beyond 2^40.</summary>
    public GearTrain? MotorTurns => Motor.Gearbox.Aggregate(
        (GearTrain?)Train.Fraction, (train, pair) => train?.WithPair(pair[0], pair[1]));

    /// <summary>Steps, encoder counts or computed parts for a turn of the nut, exact; null beyond 2^40.</summary>
    public GearTrain? CountsPerNutTurn => MotorTurns is not { } turns ? null : Motor switch
    {
        StepperPart s => turns.WithPair(s.FullSteps, 1)?.WithPair(Microsteps, 1),
        DcPart { CountsPerTurn: > 0 } d => turns.WithPair(d.CountsPerTurn, 1),
        _ => turns.WithPair((int)DcStatics.OpenLoopCounts(turns.Ratio), 1),
    };
}

/// <summary>Judges the builds of a box. One instance may be used by one thread.</summary>
public sealed class BuildJudge(PartsBox box)
{
    /// <summary>Least factors that a build must have: to the motor's top speed, and between the torque that the motor
    /// gives and what elementary statics asks for. Common practice, no source.</summary>
    public const double MinSpeedMargin = 1.2, MinTorqueMargin = 1.5;

    /// <summary>Steps a second that the controller's loop makes at 10 ms a pass: 16 pulses a pass
    /// (firmware/MOTION-COST.md).</summary>
    public const double MaxStepsPerSec = 1600;

    /// <summary>Share of its torque that a stepper keeps while it steps slowly, and that a pair of home-made wheels
    /// passes on. Common practice, no source.</summary>
    public const double SteppingShare = 0.7, WheelEfficiency = 0.9;

    // Comfortable values: there, a criterion costs 1.
    private const double ComfortStepPx = 0.1;
    private const double ComfortSpeedMargin = 3;
    private const double ComfortTorqueMargin = 4;
    private const double ComfortStepsPerSec = 530; // 16 pulses in passes of 30 ms
    private const double ComfortBuildMm = 400;
    private const double ComfortRulerPx = 1;
    private const double RulerErrorMm = 0.5;

    // A bent rod must be bent, measured and mended; a double arm is a third board with its hinge; each wheel pair is a
    // mesh to set.
    private const double BendEffort = 0.5, SecondArmEffort = 0.7, PairEffort = 0.25;

    // A camera that hangs at the axis needs no torque at all.
    private const double LargestShown = 99999;

    private const double LoopSec = 0.01;

    private readonly double _skyArcsecPerSec = SkyRate.SiderealRadPerSec * AngleUnits.ArcsecPerRad;

    /// <summary>Everything about a build.</summary>
    public BuildFigures Judge(HingeOption hinge, MotorPart motor, double ratio, int pairs, int microsteps)
    {
        var f = new BuildFigures();
        Judge(f, hinge, motor, ratio, pairs, microsteps);
        return f;
    }

    /// <summary>The same into figures that are used again.</summary>
    /// <param name="f">Where the figures go.</param>
    /// <param name="hinge">The hinge.</param>
    /// <param name="motor">The motor.</param>
    /// <param name="ratio">Turns of the motor's output shaft for a turn of the nut.</param>
    /// <param name="pairs">Pairs of wheels between them.</param>
    /// <param name="microsteps">Microsteps of a step.</param>
    public void Judge(BuildFigures f, HingeOption hinge, MotorPart motor, double ratio, int pairs, int microsteps)
    {
        double nutTurnsPerSec = hinge.MaxLeverMm * SkyRate.SiderealRadPerSec / hinge.Rod.PitchMm;
        double efficiency = Math.Pow(WheelEfficiency, pairs);
        double loadNmm = hinge.NutTorqueNmm / (ratio * efficiency);
        if (motor is StepperPart stepper)
        {
            Stepper(f, stepper, hinge, ratio, microsteps, nutTurnsPerSec, loadNmm);
        }
        else
        {
            Dc(f, (DcPart)motor, hinge, ratio, nutTurnsPerSec, loadNmm);
        }

        double pixel = box.Camera.ArcsecPerPixel;
        Set(f, BuildFigures.Step, f.Values[BuildFigures.Step], f.Values[BuildFigures.Step] / ComfortStepPx, 0);
        Set(f, BuildFigures.Error, f.Values[BuildFigures.Error], f.Values[BuildFigures.Error] / box.Wanted.ErrorPx,
            f.Values[BuildFigures.Error] / box.Wanted.ErrorPx);
        double travel = box.Wanted.TravelMin / hinge.TravelMin;
        Set(f, BuildFigures.Travel, hinge.TravelMin, travel, travel);
        double hours = box.Pack.HoursAt(f.SupplyMa);
        Set(f, BuildFigures.Pack, hours, box.Wanted.PackHours / hours, box.Wanted.PackHours / hours);
        double size = hinge.TallMm + hinge.BoardMm;
        Set(f, BuildFigures.Tall, size, size / ComfortBuildMm, 0);
        double ruler = RulerErrorMm / hinge.ArmMm * _skyArcsecPerSec * 60 / pixel;
        Set(f, BuildFigures.Ruler, ruler, ruler / ComfortRulerPx, 0);
        double effort = (hinge.Form == "bent-rod" && hinge.Rod.BendRadiusMm == 0 ? BendEffort : 0)
            + (hinge.Hinge is DoubleArmHinge ? SecondArmEffort : 0)
            + (PairEffort * pairs);
        f.Values[BuildFigures.Effort] = effort / PairEffort;
        f.Costs[BuildFigures.Effort] = effort;
        f.Needs[BuildFigures.Effort] = 0;
        f.Sum();
    }

    // log2(1 + x): 0 at 0, 1 where x says comfortable, and slow beyond, so that no single figure rules alone.
    private static void Set(BuildFigures f, int criterion, double value, double cost, double need)
    {
        f.Values[criterion] = Math.Min(value, LargestShown);
        f.Costs[criterion] = Math.Log2(1 + cost);
        f.Needs[criterion] = need;
    }

    private void Stepper(BuildFigures f, StepperPart motor, HingeOption hinge, double ratio, int microsteps,
        double nutTurnsPerSec, double loadNmm)
    {
        double stepsPerNutTurn = ratio * motor.GearboxTrain.Ratio * motor.FullSteps * microsteps;
        double stepsPerSec = nutTurnsPerSec * stepsPerNutTurn;
        double pixel = box.Camera.ArcsecPerPixel;
        double step = hinge.Rod.PitchMm / (hinge.MinLeverMm * stepsPerNutTurn) * AngleUnits.ArcsecPerRad / pixel;
        f.Values[BuildFigures.Step] = step;
        // Half a step, one more where the loop's late pass shows, and the way of the sky in one pass.
        f.Values[BuildFigures.Error] = step + (_skyArcsecPerSec * LoopSec / pixel);
        double margin = motor.PullInFullStepsPerSec * microsteps / stepsPerSec;
        Set(f, BuildFigures.PullIn, margin, ComfortSpeedMargin / margin, MinSpeedMargin / margin);
        double torque = motor.HoldingTorqueNmm * SteppingShare / loadNmm;
        Set(f, BuildFigures.Torque, torque, ComfortTorqueMargin / torque, MinTorqueMargin / torque);
        Set(f, BuildFigures.LoopRate, stepsPerSec, stepsPerSec / ComfortStepsPerSec, stepsPerSec / MaxStepsPerSec);
        f.SupplyMa = motor.SupplyMa + box.Pack.ControllerMa;
    }

    private void Dc(BuildFigures f, DcPart motor, HingeOption hinge, double ratio, double nutTurnsPerSec,
        double loadNmm)
    {
        double pixel = box.Camera.ArcsecPerPixel;
        double rpm = nutTurnsPerSec * 60 * ratio;
        double low = box.Pack.Volts * PackPart.LowShare;
        double counts = motor.CountsPerTurn > 0
            ? motor.CountsPerTurn * motor.GearboxTrain.Ratio * ratio
            : DcStatics.OpenLoopCounts(ratio * motor.GearboxTrain.Ratio) * motor.GearboxTrain.Ratio * ratio;
        double step = hinge.Rod.PitchMm / (hinge.MinLeverMm * counts) * AngleUnits.ArcsecPerRad / pixel;
        f.Values[BuildFigures.Step] = step;
        double drift = motor.CountsPerTurn > 0
            ? DcStatics.LoopArcsec / pixel
            : DcStatics.OpenLoopDriftArcsec(motor, rpm, loadNmm, hinge.TravelMin) / pixel;
        f.Values[BuildFigures.Error] = drift + step + (_skyArcsecPerSec * LoopSec / pixel);
        double speed = DcStatics.Rpm(motor, low, loadNmm) / rpm;
        // Below a tenth of its speed a gear motor runs by fits and starts (common practice, no source).
        double slow = 0.1 * DcStatics.Rpm(motor, box.Pack.Volts, loadNmm) / rpm;
        Set(f, BuildFigures.PullIn, speed, ComfortSpeedMargin / Math.Max(speed, 1e-6),
            speed > 0 ? Math.Max(MinSpeedMargin / speed, slow) : 1e6);
        double torque = motor.StallTorqueNmm * low / motor.Volts / loadNmm;
        Set(f, BuildFigures.Torque, torque, ComfortTorqueMargin / torque, MinTorqueMargin / torque);
        Set(f, BuildFigures.LoopRate, 0, 0, 0); // counted or computed, not pulsed
        f.SupplyMa = DcStatics.SupplyMa(motor, box.Pack.Volts, rpm, loadNmm) + box.Pack.ControllerMa;
    }
}
