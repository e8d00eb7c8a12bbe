// What both DC drives share: the way from a wanted duty to the bridge. Closed loop: EncoderDrive.cs;
// open loop: OpenLoopDrive.cs.

using Hourhinge.Firmware.Guards;
using Hourhinge.Firmware.Hardware;
using Hourhinge.SharedMath.Profile;

namespace Hourhinge.Firmware.Drives;

/// <summary>A DC gear motor on PWM. Limit switches and the supply are looked at here, before every duty.</summary>
public abstract class DcDrive : MotorDrive
{
    /// <summary>Longest time between two passes that a drive reckons with, µs.</summary>
    protected const long MaxUpdateIntervalUs = 100000;

    private readonly IPwmOutput _output;
    private readonly LimitSwitches _limits;
    private readonly SupplyMonitor _supply;
    private bool _reversed;
    private int _duty;

    /// <summary>Takes the bridge over and stops the motor.</summary>
    protected DcDrive(IPwmOutput output, LimitSwitches limits, SupplyMonitor supply)
    {
        _output = output;
        _limits = limits;
        _supply = supply;
        _output.SetDutyPerTenThousand(0);
    }

    /// <inheritdoc/>
    public override bool CanReverse => Profile == null || !Profile.Has(DriveProfile.ForwardOnly);

    /// <inheritdoc/>
    public override int ApproachLeadCounts => 1000;

    /// <summary>The profile in use.</summary>
    protected DriveProfile Profile { get; private set; }

    /// <summary>The motor's constants.</summary>
    protected DcSettings Settings { get; private set; }

    /// <summary>Sign of the duty that the motor now has.</summary>
    protected int Direction => _duty > 0 ? 1 : _duty < 0 ? -1 : 0;

    /// <summary>Largest duty, at the curve's voltage, that the supply can now give.</summary>
    protected int MaxDuty
    {
        get
        {
            long max = (long)SpeedCurve.FullDuty * SupplyMillivolts / Settings.CurveMillivolts;
            return max > 2 * SpeedCurve.FullDuty ? 2 * SpeedCurve.FullDuty : (int)max;
        }
    }

    // A meter that is missing or reads nonsense must not multiply the duty: then the curve's own voltage is assumed.
    private int SupplyMillivolts =>
        _supply.Millivolts > Settings.CurveMillivolts / 4 ? _supply.Millivolts : Settings.CurveMillivolts;

    /// <inheritdoc/>
    public override void Configure(DriveProfile profile)
    {
        Profile = profile;
        Settings = profile.Dc;
        _reversed = profile.Has(DriveProfile.MotorReversed);
        SetDuty(0);
    }

    /// <inheritdoc/>
    public override void Stop(bool release) => SetDuty(0);

    /// <summary>A motor cannot stop on a count: what it runs on in a pass at the approach speed is near
    /// enough.</summary>
    public override bool HasReached(long target)
    {
        long off = Position - target;
        long near = 1 + (Profile.ApproachCountsPerSec / 50);
        return off <= near && off >= -near;
    }

    /// <summary>
    /// Drives the motor with a duty meant for the curve's supply voltage: what it really gets gives the same mean
    /// voltage from the supply as it is now. Nothing drives against a closed limit switch.
    /// </summary>
    protected void SetDuty(int curveDuty)
    {
        if ((curveDuty > 0 && _limits.AtEnd) || (curveDuty < 0 && (_limits.AtHome || !CanReverse)))
        {
            curveDuty = 0;
        }

        long wanted = 0;
        if (curveDuty != 0)
        {
            int supply = SupplyMillivolts;
            long half = curveDuty > 0 ? supply / 2 : -(supply / 2);
            wanted = (((long)curveDuty * Settings.CurveMillivolts) + half) / supply;
            wanted = wanted > SpeedCurve.FullDuty ? SpeedCurve.FullDuty : wanted;
            wanted = wanted < -SpeedCurve.FullDuty ? -SpeedCurve.FullDuty : wanted;
        }

        _duty = (int)wanted;
        _output.SetDutyPerTenThousand(_reversed ? -_duty : _duty);
    }

    /// <summary>Whether a DC drive's speed slows down before its target: at most twice the remaining distance a
    /// second.</summary>
    protected long SpeedToward(long distanceCounts, int countsPerSec)
    {
        long speed = distanceCounts * 2;
        speed = speed < Profile.ApproachCountsPerSec ? Profile.ApproachCountsPerSec : speed;
        return speed > countsPerSec ? countsPerSec : speed;
    }
}
