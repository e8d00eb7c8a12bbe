using Hourhinge.Firmware.Hardware;

namespace Hourhinge.Rehearsal.Board;

/// <summary>
/// The board's crystal in virtual time. Each reading costs a little time, as it does on the small runtime, so a loop
/// that waits by reading the clock ends. There are two times: that of the crystal, which the firmware reads, and true
/// time, from which it differs by the crystal's error.
/// </summary>
public sealed class VirtualClock : IClock
{
    private readonly double _crystalPerTrue;
    private double _trueUs;

    /// <summary>A clock at zero; a positive error means a fast crystal.</summary>
    public VirtualClock(double crystalErrorPpm = 0, double readCostUs = 2)
    {
        _crystalPerTrue = 1 + (crystalErrorPpm * 1e-6);
        ReadCostUs = readCostUs;
    }

    /// <summary>True time that one reading takes, µs.</summary>
    public double ReadCostUs { get; }

    /// <summary>True time since power-up, µs.</summary>
    public double TrueUs => _trueUs;

    /// <summary>True time since power-up, s.</summary>
    public double TrueSec => _trueUs * 1e-6;

    /// <inheritdoc/>
    public long NowMicroseconds
    {
        get
        {
            _trueUs += ReadCostUs;
            return (long)(_trueUs * _crystalPerTrue);
        }
    }

    /// <summary>Advances true time to a moment; a moment in the past changes nothing.</summary>
    public void AdvanceTo(double trueUs) => _trueUs = Math.Max(_trueUs, trueUs);
}
