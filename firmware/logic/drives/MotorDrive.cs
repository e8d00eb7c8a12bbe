// What the controller asks of a motor, whatever kind it is. One object owns the motor; nothing else touches it.

using Hourhinge.Firmware.Guards;
using Hourhinge.SharedMath.Profile;

namespace Hourhinge.Firmware.Drives;

/// <summary>
/// A motor that counts its own position. Positions are drive counts, 0 at the start of the travel, rising in the
/// tracking direction. Every call returns within a pass; <c>nowUs</c> is the board's clock.
/// </summary>
public abstract class MotorDrive
{
    /// <summary>Where the motor stands, counts; meaningful only while the controller says that it is known.</summary>
    public virtual long Position { get; set; }

    /// <summary>True when <see cref="Position"/> is reckoned from what was commanded, not counted.</summary>
    public virtual bool IsPositionEstimate => false;

    /// <summary>True when the motor can run backward; false for a DC motor on a single transistor.</summary>
    public virtual bool CanReverse => true;

    /// <summary>How far ahead of the position a slow approach aims, counts.</summary>
    public virtual int ApproachLeadCounts => 1;

    /// <summary>True when the drive can run faster than it counts (<see cref="RunBack"/>).</summary>
    public virtual bool HasUncountedRun => false;

    /// <summary>Takes over the settings of a profile; the motor is at rest.</summary>
    public abstract void Configure(DriveProfile profile);

    /// <summary>Energises the motor before a motion.</summary>
    public abstract void Engage(long nowUs);

    /// <summary>Tracking: stands where the profile says, forward only. Late is caught up at the pull-in rate.</summary>
    /// <param name="dueQ16">Position due, Q16 counts.</param>
    /// <param name="rateQ16PerSec">Rate due, Q16 counts a second.</param>
    /// <param name="nowUs">The board's clock.</param>
    public abstract void Follow(long dueQ16, long rateQ16PerSec, long nowUs);

    /// <summary>Goes toward a position at no more than a speed, counting every step.</summary>
    public abstract void MoveToward(long target, int countsPerSec, long nowUs);

    /// <summary>Runs backward uncounted at a speed (0: stops); only where <see cref="HasUncountedRun"/>.</summary>
    public virtual void RunBack(int countsPerSec)
    {
    }

    /// <summary>Stops at once.</summary>
    /// <param name="release">True to let the coils go, false to keep holding.</param>
    public abstract void Stop(bool release);

    /// <summary>True when the motor stands at a position as nearly as it can be made to.</summary>
    public virtual bool HasReached(long target) => Position == target;

    /// <summary>What is wrong with the motion, as the motor itself can tell: a reason of <see cref="Fault"/>, or
    /// none.</summary>
    public virtual int FaultNow(long nowUs) => Fault.None;
}
