// Smooths the supply voltage and compares it with the limit. Its effect on the motion: ControllerUpdate.cs.

using Hourhinge.Firmware.Hardware;
using Hourhinge.SharedMath.Profile;

namespace Hourhinge.Firmware.Guards;

/// <summary>
/// Reads the meter every 20 ms and smooths over 16 readings (time constant 0.3 s), so that a camera's or motor's
/// current peak does not count as an empty pack. Without a meter the supply is never low and its voltage is -1.
/// </summary>
public sealed class SupplyMonitor
{
    private const long SampleUs = 20000;
    private const int SmoothingBits = 4;

    private readonly ISupplyMeter _meter;
    private readonly int _boardMinMillivolts;
    private int _minMillivolts;
    private int _sum;
    private long _nextUs;
    private bool _hasReading;

    /// <summary>Watches this meter, which may be null where none is fitted.</summary>
    /// <param name="meter">The meter.</param>
    /// <param name="boardMinMillivolts">Below this supply the board moves nothing; 0 for no such limit.</param>
    public SupplyMonitor(ISupplyMeter meter, int boardMinMillivolts)
    {
        _meter = meter;
        _boardMinMillivolts = boardMinMillivolts;
        _minMillivolts = boardMinMillivolts;
    }

    /// <summary>Smoothed supply, mV; -1 where no meter is fitted or it has not been read yet.</summary>
    public int Millivolts => _hasReading ? _sum >> SmoothingBits : -1;

    /// <summary>True while the supply is below the limit and nothing may move.</summary>
    public bool IsLow => _hasReading && Millivolts < _minMillivolts;

    /// <summary>Applies a profile's minimum supply; the larger of it and the board's counts.</summary>
    public void Configure(DriveProfile profile)
    {
        int min = profile.Dc == null ? 0 : profile.Dc.MinMillivolts;
        _minMillivolts = min > _boardMinMillivolts ? min : _boardMinMillivolts;
    }

    /// <summary>One pass of the loop.</summary>
    public void Update(long nowUs)
    {
        if (_meter == null || nowUs < _nextUs)
        {
            return;
        }

        _nextUs = nowUs + SampleUs;
        int reading = _meter.ReadMillivolts();
        if (reading < 0)
        {
            _hasReading = false;
            return;
        }

        _sum = _hasReading ? _sum + reading - (_sum >> SmoothingBits) : reading << SmoothingBits;
        _hasReading = true;
    }
}
