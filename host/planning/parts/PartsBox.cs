// What is in the box and what is wanted of it, as read from a file of parts.

using Hourhinge.Rig;
using Hourhinge.SharedMath.Geometry;

namespace Hourhinge.Planning.Parts;

/// <summary>A box of parts with the wishes for them. Immutable.</summary>
public sealed record PartsBox(
    string Name,
    Wishes Wanted,
    CameraLoad Camera,
    double BoardMm,
    bool HasThirdBoard,
    IReadOnlyList<RodPart> Rods,
    IReadOnlyList<int> Wheels,
    IReadOnlyList<MotorPart> Motors,
    PackPart Pack);

/// <summary>What is wanted.</summary>
public sealed record Wishes(double TravelMin, double ErrorPx, double PackHours);

/// <summary>The camera with its longest lens, and where it weighs on the hinge.</summary>
public sealed record CameraLoad(
    double PixelUm, int WidthPx, int HeightPx, double LensMm, double MassKg, double LeverMm)
{
    private const double GravityMPerSec2 = 9.80665; // standard gravity, CGPM 1901

    /// <summary>Arcseconds of a pixel.</summary>
    public double ArcsecPerPixel => PixelUm / 1000 / LensMm * AngleUnits.ArcsecPerRad;

    /// <summary>Moment about the hinge axis with the lever level, N·mm.</summary>
    public double MomentNmm => MassKg * GravityMPerSec2 * LeverMm;
}

/// <summary>A threaded rod.</summary>
public sealed record RodPart(string Thread, double PitchMm, double DiameterMm, double LengthMm, bool IsBendable)
{
    /// <summary>Radius of a rod that is bent already; 0 for a straight one.</summary>
    public double BendRadiusMm { get; init; }

    /// <summary>The thread in words.</summary>
    public string Label => Thread.Length > 0 ? Thread : $"{PitchMm:0.####} mm pitch";
}

/// <summary>A motor. Torques and speeds are the output shaft's, steps and counts the motor's own shaft's.</summary>
public abstract record MotorPart(string Name, string Kind, IReadOnlyList<int[]> Gearbox)
{
    /// <summary>Turns of the motor's own shaft for a turn of the output shaft.</summary>
    public GearTrain GearboxTrain { get; } = Gearbox.Aggregate(new GearTrain(1, 1),
        (train, pair) => train.WithPair(pair[0], pair[1])!);
}

/// <summary>A stepper.</summary>
public sealed record StepperPart(
    string Name, IReadOnlyList<int[]> Gearbox, int FullSteps, IReadOnlyList<int> Microsteps,
    double PullInFullStepsPerSec, double HoldingTorqueNmm, double SupplyMa) : MotorPart(Name, "stepper", Gearbox);

/// <summary>A DC gear motor; <paramref name="CountsPerTurn"/> is 0 without an encoder.</summary>
public sealed record DcPart(
    string Name, IReadOnlyList<int[]> Gearbox, int CountsPerTurn, double Volts, double NoLoadRpm,
    double StallTorqueNmm, double NoLoadMa, double StallMa)
    : MotorPart(Name, CountsPerTurn > 0 ? "dc-encoder" : "dc", Gearbox);

/// <summary>The pack, and what the controller draws from it.</summary>
public sealed record PackPart(double Volts, double Mah, double LabelVolts, double ControllerMa)
    : PackData(Volts, Mah, LabelVolts)
{
    /// <summary>Lowest voltage that the drive must work at, as a share of the nominal one. Common practice, no
    /// source.</summary>
    public const double LowShare = 0.85;
}
