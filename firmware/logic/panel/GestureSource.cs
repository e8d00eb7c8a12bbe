// Converts the button's edges to gestures. The gestures' actions are ButtonTable.cs.

using Hourhinge.Firmware.Hardware;

namespace Hourhinge.Firmware.Panel;

/// <summary>Gestures of the button.</summary>
public static class Gesture
{
    public const int None = 0, Press = 1, Hold = 2, DoublePress = 3;
}

/// <summary>Gestures in the order they were made.</summary>
public interface IGestureSource
{
    /// <summary>The next gesture, or <see cref="Gesture.None"/>. Never waits.</summary>
    int Dequeue();
}

/// <summary>
/// Debounces edges and distinguishes press, hold and double press. A press is reported only when no second one
/// follows within <see cref="DoublePressMs"/>; a hold is reported while the button is still down, and its release is
/// not reported. A button that is down at power-up is ignored until it has been released: a stuck one must not move the
/// hinge.
/// </summary>
public sealed class GestureQueue : IGestureSource
{
    /// <summary>A level counts once it has lasted this long.</summary>
    public const int DebounceMs = 30;

    /// <summary>Two presses are one double press when the second begins within this time of the first one's
    /// end.</summary>
    public const int DoublePressMs = 400;

    /// <summary>A button that is down this long is a hold.</summary>
    public const int HoldMs = 2000;

    private const int Capacity = 8;
    private const long Ms = 1000;

    private readonly object _sync = new object();
    private readonly IClock _clock;
    private readonly IInputPin _level;
    private readonly int[] _queue = new int[Capacity];
    private int _first;
    private int _count;
    private bool _raw;
    private long _rawSinceUs;
    private bool _down;
    private long _downAtUs;
    private bool _isHoldReported;
    private bool _pressWaits;
    private long _pressEndedUs;
    private bool _isSeen;

    /// <summary>Reads the level too, so that an edge missed by the interrupt is found at the next call.</summary>
    public GestureQueue(IClock clock, IInputPin level)
    {
        _clock = clock;
        _level = level;
    }

    /// <summary>Records an edge, from any thread. <paramref name="down"/> while the button is pressed.</summary>
    public void Edge(bool down)
    {
        lock (_sync)
        {
            long now = _clock.NowMicroseconds;
            Settle(now);
            if (down != _raw)
            {
                _raw = down;
                _rawSinceUs = now;
            }
        }
    }

    /// <inheritdoc/>
    public int Dequeue()
    {
        bool isActive = _level.IsActive;
        if (!_isSeen)
        {
            _isSeen = true;
            IgnoreLevel(isActive);
        }

        if (!isActive && IsAtRest)
        {
            return Gesture.None; // Nearly every pass.
        }

        Edge(isActive);
        lock (_sync)
        {
            long now = _clock.NowMicroseconds;
            Settle(now);
            if (_down && !_isHoldReported && now - _downAtUs >= HoldMs * Ms)
            {
                EnqueueWaitingPress();
                _isHoldReported = true;
                Enqueue(Gesture.Hold);
            }

            // A second press that is not yet debounced may still become a double press.
            if (_pressWaits && !_down && !_raw && now - _pressEndedUs > DoublePressMs * Ms)
            {
                EnqueueWaitingPress();
            }

            if (_count == 0)
            {
                return Gesture.None;
            }

            int gesture = _queue[_first];
            _first = (_first + 1) % Capacity;
            _count--;
            return gesture;
        }
    }

    // Read without the lock: an edge that comes meanwhile is seen in the next pass.
    private bool IsAtRest => !_raw && !_down && !_pressWaits && _count == 0;

    private void IgnoreLevel(bool down)
    {
        if (down)
        {
            lock (_sync)
            {
                _raw = true;
                _down = true;
                _isHoldReported = true;
            }
        }
    }

    private void Settle(long now)
    {
        if (_raw == _down || now - _rawSinceUs < DebounceMs * Ms)
        {
            return;
        }

        _down = _raw;
        if (_down)
        {
            _downAtUs = _rawSinceUs;
            _isHoldReported = false;
            return;
        }

        if (_isHoldReported)
        {
            return; // The release of a hold.
        }

        if (_rawSinceUs - _downAtUs >= HoldMs * Ms)
        {
            EnqueueWaitingPress(); // A hold that began and ended between two calls.
            Enqueue(Gesture.Hold);
        }
        else if (_pressWaits && _downAtUs - _pressEndedUs <= DoublePressMs * Ms)
        {
            _pressWaits = false;
            Enqueue(Gesture.DoublePress);
        }
        else
        {
            EnqueueWaitingPress();
            _pressWaits = true;
            _pressEndedUs = _rawSinceUs;
        }
    }

    private void EnqueueWaitingPress()
    {
        if (_pressWaits)
        {
            _pressWaits = false;
            Enqueue(Gesture.Press);
        }
    }

    // A full queue drops the newest gesture.
    private void Enqueue(int gesture)
    {
        if (_count < Capacity)
        {
            _queue[(_first + _count) % Capacity] = gesture;
            _count++;
        }
    }
}
