// A DC gear motor by its four data-sheet values: the straight lines of speed and current over torque.

using Hourhinge.Rig;

namespace Hourhinge.Planning.Parts;

/// <summary>
/// With constant flux, speed falls and current rises in a straight line with torque (elementary theory of the
/// permanent-magnet DC motor). The motor's own friction is the share f = I₀/I_stall of its stall torque:
/// n(V, T) = n₀·((1 + f)·V/V₀ − f − T/T_stall), which is n₀ at (V₀, 0) and 0 at (V₀, T_stall).
/// Speeds in turns a minute and torques in N·mm, both of the output shaft.
/// </summary>
public static class DcStatics
{
    private const int CurvePoints = 6;

    /// <summary>How far a position loop with an encoder is off at worst, once, when it starts or passes a rough place:
    /// a tenth of a second of the sky. Rehearsed at up to 0.95" with counts of 0.06" (DesignCommandTests).</summary>
    public const double LoopArcsec = 1.5;

    /// <summary>Speed at a voltage and torque; 0 when the motor stalls.</summary>
    public static double Rpm(DcPart m, double volts, double torqueNmm) => Math.Max(0,
        m.NoLoadRpm * (((1 + Friction(m)) * volts / m.Volts) - Friction(m) - (torqueNmm / m.StallTorqueNmm)));

    /// <summary>Mean voltage for a speed at a torque.</summary>
    public static double Volts(DcPart m, double rpm, double torqueNmm) =>
        m.Volts / (1 + Friction(m)) * ((rpm / m.NoLoadRpm) + Friction(m) + (torqueNmm / m.StallTorqueNmm));

    /// <summary>Current from the pack, mA: the motor's, I₀ + (I_stall − I₀)·T/T_stall, for the share of time that the
    /// bridge is on.</summary>
    public static double SupplyMa(DcPart m, double packVolts, double rpm, double torqueNmm)
    {
        double motor = m.NoLoadMa + ((m.StallMa - m.NoLoadMa) * Math.Min(1, torqueNmm / m.StallTorqueNmm));
        return motor * Math.Min(1, Volts(m, rpm, torqueNmm) / packVolts);
    }

    /// <summary>Parts of a motor turn in which a drive without an encoder computes, as the rig file's reader has
    /// it.</summary>
    public static double OpenLoopCounts(double motorTurnsPerNutTurn) =>
        Math.Clamp(Math.Ceiling(2000 / motorTurnsPerNutTurn), 1, 1000);

    /// <summary>
    /// How far a drive without an encoder drifts, arcsec: the load swings as in `rehearse`, three times over the
    /// travel, by ±30 % of its share of the dead band (SpeedTable); the drift of a rate error r·sin(2πt/T) is
    /// r·T/π from one end to the other.
    /// </summary>
    public static double OpenLoopDriftArcsec(DcPart m, double rpm, double torqueNmm, double travelMin)
    {
        double dead = Volts(m, 0, torqueNmm);
        double percent = new SpeedTable(Volts(m, rpm, torqueNmm), dead).RateSwingPercent;
        double period = travelMin * 60 / 3;
        return SharedMath.Geometry.SkyRate.SiderealRadPerSec * SharedMath.Geometry.AngleUnits.ArcsecPerRad
            * percent / 100 * period / Math.PI;
    }

    /// <summary>The speed table of a rig file: duty in % at a voltage, and nut turns a minute, both rising.</summary>
    public static IReadOnlyList<(double DutyPercent, double NutRpm)> SpeedCurve(
        DcPart m, double packVolts, double torqueNmm, double ratio)
    {
        double first = (Volts(m, 0.02 * m.NoLoadRpm, torqueNmm) / packVolts * 100) + 0.1;
        return [.. Enumerable.Range(0, CurvePoints).Select(i =>
        {
            double duty = Math.Round(first + ((100 - first) * i / (CurvePoints - 1)), 1);
            return (duty, Rpm(m, packVolts * duty / 100, torqueNmm) / ratio);
        })];
    }

    private static double Friction(DcPart m) => m.NoLoadMa / m.StallMa;
}
