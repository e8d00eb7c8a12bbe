using Hourhinge.Rehearsal.Board;
using Hourhinge.Rehearsal.Dc;
using Hourhinge.SharedMath.Profile;

namespace Hourhinge.Tests.Firmware.Logic.Drives;

/// <summary>
/// Measures a virtual motor's speed curve the way a maker does on the bench: the turns in some seconds
/// at each of several duties, at one supply voltage and with the load of the start. The rehearsed drive knows the motor
/// only by this table.
/// </summary>
public static class SpeedCurveBench
{
    /// <summary>Measures.</summary>
    /// <param name="constants">The motor.</param>
    /// <param name="loadNm">Load of the nut at the start, N·m.</param>
    /// <param name="millivolts">Supply during the measurement.</param>
    /// <param name="countsPerRotorTurn">Drive counts for one rotor turn.</param>
    /// <param name="fastestCountsPerSec">Speed that the last point must reach, if the motor can.</param>
    public static DcSettings Measure(
        DcMotorConstants constants, double loadNm, int millivolts, double countsPerRotorTurn,
        double fastestCountsPerSec)
    {
        var duties = new List<int>();
        var speeds = new List<int>();
        int breakAway = 0;
        for (int duty = 200; duty <= 10000
            && (speeds.Count == 0 || speeds[^1] < fastestCountsPerSec * 1000); duty += 100)
        {
            // Started by full duty, so that only kinetic friction counts; then the speed over ten seconds.
            double turning = TurnsPerSec(constants, loadNm, millivolts, 10000, duty);
            if (turning > 0 && (speeds.Count == 0 || duty >= duties[^1] + 400))
            {
                duties.Add(duty);
                speeds.Add((int)Math.Round(turning * countsPerRotorTurn * 1000));
            }

            if (breakAway == 0 && TurnsPerSec(constants, loadNm, millivolts, duty, duty) > 0)
            {
                breakAway = duty;
            }
        }

        var dc = new DcSettings
        {
            CurveMillivolts = millivolts,
            CurveDuty = [.. duties],
            CurveMilliCountsPerSec = [.. speeds],
            BreakAwayDuty = breakAway,
        };
        DcTuning.SetGains(dc);
        return dc;
    }

    private static double TurnsPerSec(DcMotorConstants constants, double loadNm, int millivolts, int startDuty,
        int duty)
    {
        var clock = new VirtualClock();
        var pack = new VirtualPack(clock) { OpenCircuitVolts = _ => millivolts / 1000.0, ResistanceOhm = 0 };
        var motor = new VirtualDcMotor(clock, pack, constants) { LoadNm = (_, _) => loadNm };
        motor.SetDutyPerTenThousand(startDuty);
        clock.AdvanceTo(0.2e6);
        motor.SetDutyPerTenThousand(duty);
        clock.AdvanceTo(2e6);
        double before = motor.RotorTurns;
        clock.AdvanceTo(12e6);
        return (motor.RotorTurns - before) / 10;
    }
}
