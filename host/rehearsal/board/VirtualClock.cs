using Hourhinge.Firmware.Hardware;

namespace Hourhinge.Rehearsal.Board;

/// <summary>
/// The board's crystal in virtual time. Each reading costs a little time, as it does on the small runtime, so a loop
/// that waits by reading the clock gets there. Two times: the crystal's, which the firmware sees, and true time,
/// from which a crystal that is off by some ppm strays.
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

    /// <summary>Lets true time pass until a moment; a moment that is over changes nothing.</summary>
    public void AdvanceTo(double trueUs) => _trueUs = Math.Max(_trueUs, trueUs);
}
