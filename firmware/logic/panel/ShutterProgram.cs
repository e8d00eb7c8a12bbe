// The remote shutter: a series of exposures while the hinge tracks. This class alone drives the shutter output.

using Hourhinge.Firmware.Control;
using Hourhinge.Firmware.Hardware;
using Hourhinge.SharedMath.Profile;

namespace Hourhinge.Firmware.Panel;

/// <summary>
/// The shutter is pressed only while the controller is tracking and is released in the pass in which tracking ends.
/// An exposure that cannot finish before the end of the travel is not begun. Times are true (trimmed) seconds.
/// </summary>
public sealed class ShutterProgram
{
    /// <summary>States: not started, waiting for the next exposure, exposing, all exposures taken, ended
    /// early.</summary>
    public const int Off = 0, Waiting = 1, Exposing = 2, Done = 3, Stopped = 4;

    // Travel that must remain after an exposure.
    private const long EndMarginUs = 1000000;

    // The sky's rate, 15.04 arcsec/s: a thousandth of an arcsecond in microseconds, rounded up.
    private const long UsPerMilliarcsec = 67;

    private readonly IOutputPin _pin;
    private readonly Controller _controller;
    private ShutterSettings _stored;
    private bool _wasTracking;
    private long _earliestUs;
    private long _settledFromUs;
    private long _endUs;
    private uint _random = 2463534242;

    /// <summary>Drives this output, which may be null where no shutter is fitted.</summary>
    public ShutterProgram(IOutputPin pin, Controller controller)
    {
        _pin = pin;
        _controller = controller;
        Settings = new ShutterSettings();
        Release();
    }

    /// <summary>The program.</summary>
    public ShutterSettings Settings { get; private set; }

    /// <summary>One of the states above.</summary>
    public int State { get; private set; }

    /// <summary>Exposures finished since the start of the program.</summary>
    public int FramesTaken { get; private set; }

    /// <summary>Why the program ended early, in words; null otherwise.</summary>
    public string StopReason { get; private set; }

    /// <summary>True when a shutter output is fitted.</summary>
    public bool IsFitted => _pin != null;

    /// <summary>True while a program runs.</summary>
    public bool IsRunning => State == Waiting || State == Exposing;

    /// <summary>True while the shutter is pressed.</summary>
    public bool IsPressed { get; private set; }

    /// <summary>Applies a copy of the settings that are stored with a profile, if there are any and they are other
    /// ones than the profile before had: a new clock trim does not undo a change that was not stored.</summary>
    public void Configure(DriveProfile profile)
    {
        if (profile.Shutter != null && !profile.Shutter.IsEqualTo(_stored))
        {
            Settings = profile.Shutter.Copy();
        }

        _stored = profile.Shutter;
    }

    /// <summary>Ends the program and returns to the profile's settings, or to the defaults without them.</summary>
    public void RestoreSettings(DriveProfile profile)
    {
        Stop("reset");
        Settings = new ShutterSettings();
        _stored = null;
        if (profile != null)
        {
            Configure(profile);
        }
    }

    /// <summary>Starts the program; null, or an error text.</summary>
    public string Start()
    {
        if (_pin == null)
        {
            return "no shutter output is fitted";
        }

        if (IsRunning)
        {
            return "the shutter program runs already: SHUTter:STOP first";
        }

        if (_controller.State != ControllerState.Tracking)
        {
            return "not tracking: INITiate first";
        }

        long now = _controller.ProfileUs;
        FramesTaken = 0;
        StopReason = null;
        _earliestUs = now;
        _settledFromUs = now;
        State = Waiting;
        return null;
    }

    /// <summary>Ends the program and releases the shutter at once.</summary>
    public void Stop(string reason)
    {
        Release();
        if (IsRunning)
        {
            State = Stopped;
            StopReason = reason;
        }
    }

    /// <summary>Releases the shutter in any state.</summary>
    public void Release()
    {
        IsPressed = false;
        if (_pin != null)
        {
            _pin.Set(false);
        }
    }

    /// <summary>Ends the program when tracking has ended: in the pass of the command that ended it.</summary>
    public void StopUnlessTracking()
    {
        if (IsRunning && _controller.State != ControllerState.Tracking)
        {
            Stop("tracking ended: " + ControllerState.Name(_controller.State));
        }
    }

    /// <summary>One pass of the loop, after the motion's.</summary>
    public void Update()
    {
        bool tracking = _controller.State == ControllerState.Tracking;
        if (tracking && !_wasTracking && Settings.StartsWithTracking && IsFitted)
        {
            Start();
        }

        _wasTracking = tracking;
        StopUnlessTracking();
        if (!IsRunning)
        {
            return;
        }

        long now = _controller.ProfileUs;
        if (State == Exposing)
        {
            if (now >= _endUs)
            {
                EndExposure(now);
            }
        }
        else
        {
            Wait(now);
        }
    }

    private void Wait(long now)
    {
        if (!_controller.IsOnTarget)
        {
            _settledFromUs = now;
        }

        long exposureUs = Settings.ExposureMs * 1000L;
        long needed = exposureUs + EndMarginUs + (Settings.DitherMilliarcsec * UsPerMilliarcsec);
        if (_controller.RemainingUs < needed)
        {
            Stop("the travel ends before the next exposure would");
            return;
        }

        if (now >= _earliestUs && now - _settledFromUs >= Settings.SettleMs * 1000L)
        {
            _endUs = now + exposureUs;
            State = Exposing;
            IsPressed = true;
            _pin.Set(true);
        }
    }

    private void EndExposure(long now)
    {
        Release();
        FramesTaken++;
        if (FramesTaken >= Settings.Count)
        {
            State = Done;
            return;
        }

        State = Waiting;
        _earliestUs = now + (Settings.GapMs * 1000L);
        if (Settings.DitherMilliarcsec > 0)
        {
            Dither();
            _settledFromUs = now;
        }
    }

    // A new random offset within ± the dither. Xorshift (Marsaglia, Journal of Statistical Software 8 (14), 2003).
    private void Dither()
    {
        _random ^= _random << 13;
        _random ^= _random >> 17;
        _random ^= _random << 5;
        long span = (2L * Settings.DitherMilliarcsec) + 1;
        long milliarcsec = (_random % span) - Settings.DitherMilliarcsec;
        _controller.DitherCounts = milliarcsec * 1000 / _controller.Profile.MicroArcsecPerCount;
    }
}
