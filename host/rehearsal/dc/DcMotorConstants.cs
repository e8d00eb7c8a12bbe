namespace Hourhinge.Rehearsal.Dc;

/// <summary>
/// A small brushed motor with its gearbox, as measured at its own shaft unless the name says otherwise. The defaults
/// are of the order of a 6 V gear motor of 15 mm diameter (invented, of plausible size).
/// </summary>
public sealed record DcMotorConstants
{
    /// <summary>Winding resistance, ohms.</summary>
    public double ResistanceOhm { get; init; } = 12;

    /// <summary>Back-EMF constant, V·s/rad; equal to the torque constant in N·m/A.</summary>
    public double BackEmfVoltSec { get; init; } = 0.0055;

    /// <summary>Inertia of rotor and first gear, kg·m².</summary>
    public double InertiaKgM2 { get; init; } = 5e-8;

    /// <summary>Torque that breaks the rotor loose, N·m.</summary>
    public double StaticFrictionNm { get; init; } = 2.4e-4;

    /// <summary>Coulomb friction while it turns, N·m.</summary>
    public double KineticFrictionNm { get; init; } = 1.5e-4;

    /// <summary>Viscous friction, N·m·s/rad.</summary>
    public double ViscousNmSec { get; init; } = 1e-8;

    /// <summary>Rotor turns for one turn of the nut.</summary>
    public double TurnsPerNutTurn { get; init; } = 2500;

    /// <summary>Share of the torque that the gearbox passes on.</summary>
    public double GearEfficiency { get; init; } = 0.4;

    /// <summary>Backlash of the complete train, degrees of the nut.</summary>
    public double BacklashDeg { get; init; } = 1.5;

    /// <summary>Below this speed static friction holds the rotor, rad/s.</summary>
    public double RestRadPerSec { get; init; } = 0.5;

    /// <summary>Encoder counts for one turn of the rotor (all four edges).</summary>
    public int CountsPerRotorTurn { get; init; } = 28;
}
