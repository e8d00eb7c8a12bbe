// The interface between the controller and a motor of any kind. One object owns the motor.

using Hourhinge.Firmware.Guards;
using Hourhinge.SharedMath.Profile;

namespace Hourhinge.Firmware.Drives;

/// <summary>
/// A motor that counts its own position. Positions are drive counts, 0 at the start of the travel, increasing in the
/// tracking direction. No call waits; <c>nowUs</c> is the board's clock.
/// </summary>
public abstract class MotorDrive
{
    /// <summary>The motor's position, counts; valid only while the controller knows it.</summary>
    public virtual long Position { get; set; }

    /// <summary>True when the motor can run backward; false for a DC motor on a single transistor.</summary>
    public virtual bool CanReverse => true;

    /// <summary>Distance of a slow approach's target from the position, counts.</summary>
    public virtual int ApproachLeadCounts => 1;

    /// <summary>True when the drive can run faster than it counts (<see cref="RunBack"/>).</summary>
    public virtual bool HasUncountedRun => false;

    /// <summary>Frequency of the pulse train that tracks now, Hz; 0 where there is none.</summary>
    public virtual int TrainHertz => 0;

    /// <summary>True when the motion that has just ended may have been counted wrongly.</summary>
    public virtual bool HasLostPosition => false;

    /// <summary>Applies the settings of a profile; the motor is at rest.</summary>
    public abstract void Configure(DriveProfile profile);

    /// <summary>Energizes the motor before a motion.</summary>
    public abstract void Engage(long nowUs);

    /// <summary>Tracking: moves to the due position, forward only. Lateness is recovered at the pull-in
    /// rate.</summary>
    /// <param name="dueQ16">Position due, Q16 counts.</param>
    /// <param name="rateQ16PerSec">Rate due, Q16 counts a second.</param>
    /// <param name="nowUs">The board's clock.</param>
    public abstract void Follow(long dueQ16, long rateQ16PerSec, long nowUs);

    /// <summary>Moves toward a position at no more than a speed, counting every step.</summary>
    public abstract void MoveToward(long target, int countsPerSec, long nowUs);

    /// <summary>Runs backward uncounted at a speed (0: stops); only where <see cref="HasUncountedRun"/>.</summary>
    public virtual void RunBack(int countsPerSec)
    {
    }

    /// <summary>Stops at once.</summary>
    /// <param name="release">True to release the coils, false to keep holding.</param>
    public abstract void Stop(bool release);

    /// <summary>True when the motor is at a position, within what the drive can achieve.</summary>
    public virtual bool HasReached(long target) => Position == target;

    /// <summary>The fault that the drive itself detects: a reason of <see cref="Fault"/>, or none.</summary>
    public virtual int FaultNow(long nowUs) => Fault.None;
}
