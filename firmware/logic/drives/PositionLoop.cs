// The control law of the encoder drive: PI with anti-windup, in integers. No motor, no clock.

using Hourhinge.SharedMath.Profile;

namespace Hourhinge.Firmware.Drives;

/// <summary>
/// Duty = feed-forward + P·error + I·∫error, in 1/10000 at the curve's supply voltage. The integral compensates what
/// the speed curve does not contain (load, cold grease). It is held while the duty is at a limit and the error would
/// increase it further (conditional integration), and never exceeds half of full duty.
/// </summary>
public sealed class PositionLoop
{
    // Errors are limited to 16384 counts: gain 2^24 × error 2^30 stays within 63 bits.
    private const long MaxErrorQ16 = 1L << 30;
    private const long MicroPerQ8 = 256000000;
    private const long MaxIntegral = SpeedCurve.FullDuty / 2 * MicroPerQ8;

    private DcSettings _dc;

    // Duty in Q8 times microseconds: exact, whatever the time between two passes.
    private long _integral;

    /// <summary>Applies the gains and clears the integral.</summary>
    public void Configure(DcSettings dc)
    {
        _dc = dc;
        _integral = 0;
    }

    /// <summary>Clears the integral.</summary>
    public void Reset() => _integral = 0;

    /// <summary>The duty for an error.</summary>
    /// <param name="errorQ16">Due position less position, Q16 counts. Within half a count it counts as none.</param>
    /// <param name="feedForward">Duty that the speed curve asks for, signed.</param>
    /// <param name="elapsedUs">Time since the last call, µs, 0 to 100000.</param>
    /// <param name="min">Minimum duty that can be carried out now.</param>
    /// <param name="max">Maximum duty.</param>
    public int Duty(long errorQ16, int feedForward, long elapsedUs, int min, int max)
    {
        long error = errorQ16 > MaxErrorQ16 ? MaxErrorQ16 : errorQ16 < -MaxErrorQ16 ? -MaxErrorQ16 : errorQ16;

        // The encoder resolves half a count: reacting to less would only add noise.
        long half = DriveProfile.OneCount / 2;
        error = error > half ? error - half : error < -half ? error + half : 0;

        long proportional = (_dc.ProportionalQ8 * error) >> (DriveProfile.FractionBits + 8);
        long duty = feedForward + proportional + (_integral / MicroPerQ8);
        bool isSaturated = (duty >= max && error > 0) || (duty <= min && error < 0);
        if (!isSaturated)
        {
            _integral += ((_dc.IntegralQ8 * error) >> DriveProfile.FractionBits) * elapsedUs;
            _integral = _integral > MaxIntegral ? MaxIntegral : _integral < -MaxIntegral ? -MaxIntegral : _integral;
        }

        return (int)(duty > max ? max : duty < min ? min : duty);
    }
}
