// Does the motor turn when it is told to? Silence of the encoder: at first a reason to push, then a stall.

namespace Hourhinge.Firmware.Guards;

/// <summary>Watches an encoder's counts against what the motor is told.</summary>
public sealed class RotorWatch
{
    // Two counts behind and silent this long: stuck by static friction, so break it loose.
    private const long AtRestUs = 60000;
    private const long AtRestCounts = 2;

    // Eight counts behind and silent this long although pushed harder and harder: a stall.
    private const long StallUs = 2000000;
    private const long StallCounts = 8;

    // Counts against the drive's direction that no backlash explains.
    private const long WrongWayCounts = 200;

    private long _lastPosition;
    private long _lastMoveUs;
    private long _farthest;
    private int _direction;
    private long _behind;

    /// <summary>What is wrong: a reason of <see cref="Fault"/>, or none.</summary>
    public int FaultReason { get; private set; }

    /// <summary>Time that the rotor has been at rest although it should turn, µs; 0 while it turns.</summary>
    public long RestingUs { get; private set; }

    /// <summary>A motion begins.</summary>
    public void Reset(long position, long nowUs)
    {
        _lastPosition = position;
        _lastMoveUs = nowUs;
        _direction = 0;
        RestingUs = 0;
        FaultReason = Fault.None;
    }

    /// <summary>Notes one pass.</summary>
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
