// Profile time: microseconds of true time since the start of the travel, from the board's crystal and its trim.

namespace Hourhinge.Firmware.Control;

/// <summary>
/// Runs from a base moment. The elapsed crystal time since then is scaled by the trim at every reading, so rounding
/// errors do not accumulate; the product stays within 63 bits for 29 years at the largest trim of 1 %.
/// </summary>
public sealed class ProfileClock
{
    private long _baseUs;
    private long _offsetUs;
    private int _trimPpb;

    /// <summary>Starts at profile time <paramref name="profileUs"/> now.</summary>
    public void Start(long nowUs, long profileUs, int trimPpb)
    {
        _baseUs = nowUs;
        _offsetUs = profileUs;
        _trimPpb = trimPpb;
    }

    /// <summary>Profile time at a reading of the board's clock.</summary>
    public long At(long nowUs)
    {
        long raw = nowUs - _baseUs;
        // Split so that raw × trim stays small: whole milliseconds first.
        return _offsetUs + raw + (raw / 1000 * _trimPpb / 1000000) + (raw % 1000 * _trimPpb / 1000000000);
    }
}
