// What both DC drives share: limits and supply compensation between a requested duty and the bridge. Closed loop:
// EncoderDrive.cs; open loop: OpenLoopDrive.cs.

using Hourhinge.Firmware.Guards;
using Hourhinge.Firmware.Hardware;
using Hourhinge.SharedMath.Profile;

namespace Hourhinge.Firmware.Drives;

/// <summary>A DC gear motor on PWM. Limit switches and supply voltage are checked here, before every duty.</summary>
public abstract class DcDrive : MotorDrive
{
    /// <summary>Longest time between two passes that a drive accounts for, µs.</summary>
    protected const long MaxUpdateIntervalUs = 100000;

    private readonly IPwmOutput _output;
    private readonly LimitSwitches _limits;
    private readonly SupplyMonitor _supply;
    private bool _reversed;
    private int _duty;

    /// <summary>Owns the bridge and stops the motor.</summary>
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

    /// <summary>Sign of the present duty.</summary>
    protected int Direction => _duty > 0 ? 1 : _duty < 0 ? -1 : 0;

    /// <summary>Largest duty, at the curve's voltage, that the present supply allows.</summary>
    protected int MaxDuty
    {
        get
        {
            long max = (long)SpeedCurve.FullDuty * SupplyMillivolts / Settings.CurveMillivolts;
            return max > 2 * SpeedCurve.FullDuty ? 2 * SpeedCurve.FullDuty : (int)max;
        }
    }

    // Without a plausible reading the curve's own voltage is assumed, so that a wrong reading cannot multiply the
    // duty.
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

    /// <summary>A DC motor cannot stop on a count: the tolerance is what it moves in one pass at the approach
    /// speed.</summary>
    public override bool HasReached(long target)
    {
        long off = Position - target;
        long near = 1 + (Profile.ApproachCountsPerSec / 50);
        return off <= near && off >= -near;
    }

    /// <summary>
    /// Sets a duty that is given for the curve's supply voltage. The output is scaled so that the mean voltage is the
    /// same at the present supply. The duty toward a closed limit switch is 0.
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

    /// <summary>The speed at a distance from the target: at most twice the remaining distance a second.</summary>
    protected long SpeedToward(long distanceCounts, int countsPerSec)
    {
        long speed = distanceCounts * 2;
        speed = speed < Profile.ApproachCountsPerSec ? Profile.ApproachCountsPerSec : speed;
        return speed > countsPerSec ? countsPerSec : speed;
    }
}
