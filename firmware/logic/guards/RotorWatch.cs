// Detects a rotor at rest, a stall and a reversed encoder.

namespace Hourhinge.Firmware.Guards;

/// <summary>Compares an encoder's counts with the commanded motion.</summary>
public sealed class RotorWatch
{
    // Two counts behind without a count for this long: held by static friction, needs the break-away duty.
    private const long AtRestUs = 60000;
    private const long AtRestCounts = 2;

    // Eight counts behind without a count for this long although the duty rises: a stall.
    private const long StallUs = 2000000;
    private const long StallCounts = 8;

    // Counts against the drive's direction that no backlash explains.
    private const long WrongWayCounts = 200;

    private long _lastPosition;
    private long _lastMoveUs;
    private long _farthest;
    private int _direction;
    private long _behind;

    /// <summary>The fault detected: a reason of <see cref="Fault"/>, or none.</summary>
    public int FaultReason { get; private set; }

    /// <summary>Time that the rotor has been at rest although it should turn, µs; 0 while it turns.</summary>
    public long RestingUs { get; private set; }

    /// <summary>Starts a motion.</summary>
    public void Reset(long position, long nowUs)
    {
        _lastPosition = position;
        _lastMoveUs = nowUs;
        _direction = 0;
        RestingUs = 0;
        FaultReason = Fault.None;
    }

    /// <summary>Records one pass.</summary>
    /// <param name="position">The encoder's position, counts.</param>
    /// <param name="behindCounts">How far the position is behind in the drive's direction, counts.</param>
    /// <param name="direction">Sign of the duty; 0 when the motor is not driven.</param>
    /// <param name="nowUs">The board's clock.</param>
    public void Record(long position, long behindCounts, int direction, long nowUs)
    {
        _behind = behindCounts;
        if (direction == 0 || position != _lastPosition)
        {
            _lastMoveUs = nowUs;
            _lastPosition = position;
        }

        long silent = nowUs - _lastMoveUs;
        RestingUs = silent >= AtRestUs && _behind >= AtRestCounts ? silent : 0;
        if (silent > StallUs && _behind >= StallCounts)
        {
            FaultReason = Fault.Stall;
        }

        RecordDirection(position, direction);
    }

    private void RecordDirection(long position, int direction)
    {
        if (direction == 0)
        {
            return;
        }

        if (direction != _direction)
        {
            _direction = direction;
            _farthest = position;
        }

        bool advances = direction > 0 ? position > _farthest : position < _farthest;
        _farthest = advances ? position : _farthest;
        long back = direction > 0 ? _farthest - position : position - _farthest;
        if (back > WrongWayCounts)
        {
            FaultReason = Fault.EncoderReversed;
        }
    }
}
