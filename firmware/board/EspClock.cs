// Time from the ESP32's 64-bit microsecond timer. No trim here: the profile carries it.

using Hourhinge.Firmware.Hardware;
using nanoFramework.Hardware.Esp32;

namespace Hourhinge.Board;

/// <summary>Microseconds since boot; 63 bits of them last 292 000 years.</summary>
public sealed class EspClock : IClock
{
    /// <inheritdoc/>
    public long NowMicroseconds => (long)HighResTimer.GetCurrent();
}
