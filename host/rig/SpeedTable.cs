namespace Hourhinge.Rig;

/// <summary>
/// A DC motor's measured speed table around the speed at which the sky is followed: mean voltage there, and the dead
/// band, the voltage at which the straight line through the two neighbouring points reaches speed 0. Speed is in
/// proportion to voltage less dead band.
/// </summary>
/// <param name="SkyVolts">Mean motor voltage at the speed of the sky, V.</param>
/// <param name="DeadVolts">The dead band, V, &gt; 0.</param>
public sealed record SpeedTable(double SkyVolts, double DeadVolts)
{
    /// <summary>Share of the dead band that the nut's load makes; the rest is friction in the motor. Assumed: a gear
    /// motor with a much larger gear than it needs.</summary>
    public const double LoadShare = 0.08;

    /// <summary>How much the load swings over a travel, percent. Assumed.</summary>
    public const double UsualLoadSwingPercent = 30;

    // A motor without a dead band is not made; this share of the table's voltage is the smallest one.
    private const double MinDeadBand = 0.01;

    /// <summary>How much the speed changes for the assumed swing of the load without an encoder, percent.</summary>
    public double RateSwingPercent => UsualLoadSwingPercent * LoadShare * DeadVolts / (SkyVolts - DeadVolts);

    /// <summary>Reads the table at a speed.</summary>
    /// <param name="dc">The motor.</param>
    /// <param name="nutTurnsPerMin">Speed of the nut that follows the sky; within the table or beside it.</param>
    public static SpeedTable At(DcData dc, double nutTurnsPerMin)
    {
        int at = 1;
        while (at < dc.Curve.Count - 1 && dc.Curve[at].NutTurnsPerMin < nutTurnsPerMin)
        {
            at++;
        }

        double Volts(int i) => dc.Curve[i].DutyPercent / 100 * dc.CurveVolts;
        double low = dc.Curve[at - 1].NutTurnsPerMin;
        double voltsPerTurn = (Volts(at) - Volts(at - 1)) / (dc.Curve[at].NutTurnsPerMin - low);
        double sky = Volts(at - 1) + ((nutTurnsPerMin - low) * voltsPerTurn);
        return new SpeedTable(sky,
            Math.Clamp(sky - (nutTurnsPerMin * voltsPerTurn), MinDeadBand * dc.CurveVolts, 0.99 * sky));
    }
}
