// The virtual motor that a rig file's measured speed table describes.

using Hourhinge.Rig;

namespace Hourhinge.Rehearsal.Dc;

/// <summary>A motor and the load on its nut.</summary>
/// <param name="Constants">The motor.</param>
/// <param name="LoadNm">Mean load of the nut, N·m.</param>
public sealed record MeasuredMotor(DcMotorConstants Constants, double LoadNm)
{
    // Of the torque that the rotor needs at a constant speed, this share is the nut's load; the rest is friction in the
    // motor. Assumed: of the order of a gear motor with a much larger gear than it needs.
    private const double LoadShare = 0.08;

    // Mechanical time constant J·R/K² of a small motor, s. Assumed.
    private const double TimeConstantSec = 0.02;

    // A motor without a dead band is not made; this share of the table's voltage is the smallest one.
    private const double MinDeadBand = 0.01;

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
        int at = 1;
        while (at < dc.Curve.Count - 1 && dc.Curve[at].NutTurnsPerMin < nutTurnsPerMin)
        {
            at++;
        }

        double turnsPerNutTurn = rig.MotorTurnsPerNutTurn.Ratio;
        double RotorRadPerSec(double nut) => nut * turnsPerNutTurn * 2 * Math.PI / 60;
        double Volts(double dutyPercent) => dutyPercent / 100 * dc.CurveVolts;
        (double lowVolts, double low) = (Volts(dc.Curve[at - 1].DutyPercent), dc.Curve[at - 1].NutTurnsPerMin);
        (double highVolts, double high) = (Volts(dc.Curve[at].DutyPercent), dc.Curve[at].NutTurnsPerMin);
        double voltsPerTurn = (highVolts - lowVolts) / (high - low);
        double skyVolts = lowVolts + ((nutTurnsPerMin - low) * voltsPerTurn);
        double deadVolts = Math.Max(skyVolts - (nutTurnsPerMin * voltsPerTurn), MinDeadBand * dc.CurveVolts);
        double skyRadPerSec = RotorRadPerSec(nutTurnsPerMin);
        double k = (skyVolts - deadVolts) / skyRadPerSec;

        var usual = new DcMotorConstants();
        double torque = deadVolts * k / usual.ResistanceOhm;
        double breakAway = Math.Max(Volts(dc.BreakAwayPercent), deadVolts) * k / usual.ResistanceOhm;
        return new MeasuredMotor(
            usual with
            {
                BackEmfVoltSec = k,
                InertiaKgM2 = TimeConstantSec * k * k / usual.ResistanceOhm,
                KineticFrictionNm = torque * (1 - LoadShare),
                StaticFrictionNm = breakAway - (torque * LoadShare),
                ViscousNmSec = 0,
                TurnsPerNutTurn = turnsPerNutTurn,
                CountsPerRotorTurn = rig.Motor.FullSteps,
                RestRadPerSec = skyRadPerSec / 60,
            },
            torque * LoadShare * turnsPerNutTurn * usual.GearEfficiency);
    }
}
