// The virtual motor that a rig file's measured speed table describes.

using Hourhinge.Rig;

namespace Hourhinge.Rehearsal.Dc;

/// <summary>A motor and the load on its nut.</summary>
/// <param name="Constants">The motor.</param>
/// <param name="LoadNm">Mean load of the nut, N·m.</param>
public sealed record MeasuredMotor(DcMotorConstants Constants, double LoadNm)
{
    // Mechanical time constant J·R/K² of a small motor, s. Assumed.
    private const double TimeConstantSec = 0.02;

    /// <summary>
    /// The motor whose speed at a constant duty follows the table: speed = (duty·V − dead band) / K. The straight line
    /// goes through the two points of the table around the speed at which the sky is followed, so that there the motor
    /// is exactly the measured one.
    /// </summary>
    /// <param name="rig">A rig with a DC motor.</param>
    /// <param name="nutTurnsPerMin">Speed of the nut that follows the sky.</param>
    public static MeasuredMotor Of(RigDescription rig, double nutTurnsPerMin)
    {
        DcData dc = rig.Motor.Dc ?? throw new ArgumentException("a rig with a DC motor", nameof(rig));
        var table = SpeedTable.At(dc, nutTurnsPerMin);
        double turnsPerNutTurn = rig.MotorTurnsPerNutTurn.Ratio;
        double skyRadPerSec = nutTurnsPerMin * turnsPerNutTurn * 2 * Math.PI / 60;
        double k = (table.SkyVolts - table.DeadVolts) / skyRadPerSec;

        var usual = new DcMotorConstants();
        double torque = table.DeadVolts * k / usual.ResistanceOhm;
        double breakAway =
            Math.Max(dc.BreakAwayPercent / 100 * dc.CurveVolts, table.DeadVolts) * k / usual.ResistanceOhm;
        return new MeasuredMotor(
            usual with
            {
                BackEmfVoltSec = k,
                InertiaKgM2 = TimeConstantSec * k * k / usual.ResistanceOhm,
                KineticFrictionNm = torque * (1 - SpeedTable.LoadShare),
                StaticFrictionNm = breakAway - (torque * SpeedTable.LoadShare),
                ViscousNmSec = 0,
                TurnsPerNutTurn = turnsPerNutTurn,
                CountsPerRotorTurn = rig.Motor.FullSteps,
                RestRadPerSec = skyRadPerSec / 60,
            },
            torque * SpeedTable.LoadShare * turnsPerNutTurn * usual.GearEfficiency);
    }
}
