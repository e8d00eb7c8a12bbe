// Forwards every call to the drive that the profile in use needs.

using Hourhinge.SharedMath.Profile;

namespace Hourhinge.Firmware.Drives;

/// <summary>
/// Holds the drives that are fitted and selects one by the profile. A change of kind makes the position unknown
/// unless it is zero, as any change of profile does, because the counts differ.
/// </summary>
public sealed class DriveChooser : MotorDrive
{
    private readonly MotorDrive[] _byKind;
    private MotorDrive _chosen;

    /// <summary>Selects one of these by <see cref="DriveProfile.DriveKind"/>; null where none is fitted, but at least
    /// one is.</summary>
    public DriveChooser(MotorDrive stepper, MotorDrive closedLoop, MotorDrive openLoop)
    {
        _byKind = new MotorDrive[] { stepper, closedLoop, openLoop };
        _chosen = stepper ?? closedLoop ?? openLoop;
    }

    /// <inheritdoc/>
    public override long Position
    {
        get => _chosen.Position;
        set => _chosen.Position = value;
    }

    /// <inheritdoc/>
    public override bool CanReverse => _chosen.CanReverse;

    /// <inheritdoc/>
    public override int ApproachLeadCounts => _chosen.ApproachLeadCounts;

    /// <inheritdoc/>
    public override bool HasUncountedRun => _chosen.HasUncountedRun;

    /// <inheritdoc/>
    public override int TrainHertz => _chosen.TrainHertz;

    /// <inheritdoc/>
    public override bool HasLostPosition => _chosen.HasLostPosition;

    /// <summary>Null when a profile's drive is fitted; otherwise what is missing, in words.</summary>
    public string MissingHardware(DriveProfile profile)
    {
        if (_byKind[profile.DriveKind] != null)
        {
            return null;
        }

        return profile.DriveKind == DriveProfile.Stepper ? "the profile drives a stepper and this board has none"
            : profile.DriveKind == DriveProfile.DcClosedLoop
            ? "the profile drives a DC motor with encoder and this board has not both"
            : "the profile drives a DC motor and this board has no PWM output for one";
    }

    /// <inheritdoc/>
    public override void Configure(DriveProfile profile)
    {
        MotorDrive next = _byKind[profile.DriveKind];
        if (next != _chosen)
        {
            long position = _chosen.Position;
            _chosen.Stop(true);
            _chosen = next;
            _chosen.Configure(profile);
            _chosen.Position = position;
            return;
        }

        _chosen.Configure(profile);
    }

    /// <inheritdoc/>
    public override void Engage(long nowUs) => _chosen.Engage(nowUs);

    /// <inheritdoc/>
    public override void Follow(long dueQ16, long rateQ16PerSec, long nowUs) =>
        _chosen.Follow(dueQ16, rateQ16PerSec, nowUs);

    /// <inheritdoc/>
    public override void MoveToward(long target, int countsPerSec, long nowUs) =>
        _chosen.MoveToward(target, countsPerSec, nowUs);

    /// <inheritdoc/>
    public override void RunBack(int countsPerSec) => _chosen.RunBack(countsPerSec);

    /// <inheritdoc/>
    public override void Stop(bool release) => _chosen.Stop(release);

    /// <inheritdoc/>
    public override bool HasReached(long target) => _chosen.HasReached(target);

    /// <inheritdoc/>
    public override int FaultNow(long nowUs) => _chosen.FaultNow(nowUs);
}
