// Drives the LED: the pattern of the state, or a requested number. Patterns: LedPattern.cs.

using Hourhinge.Firmware.Control;
using Hourhinge.Firmware.Hardware;
using Hourhinge.Firmware.Storage;

namespace Hourhinge.Firmware.Panel;

/// <summary>
/// Numbers are blinked digit by digit: each hundred a very long flash, each ten a long one, each one a short one; 0 is
/// six flickers. A rejection is three flickers. While an exposure runs the LED is dark, and a number waits until the
/// shutter has closed; only a fault is shown.
/// </summary>
public sealed class StatusLight
{
    /// <summary>Flashes of a number, ms.</summary>
    public const int HundredMs = 1500, TenMs = 600, OneMs = 120;

    private const int BetweenFlashesMs = 400;
    private const int BetweenDigitsMs = 1000;
    private const int FlickerMs = 60;
    private const long MaxNumber = 999;

    private readonly IOutputPin _led;
    private readonly Controller _controller;
    private readonly ShutterProgram _shutter;
    private readonly StorageHealth _storage;
    private readonly int[] _script = new int[64];
    private int _scriptCount;
    private bool _scriptWaits;
    private long _startUs;
    private int _row = -1;
    private bool _isOn;
    private long _patternUntilUs;
    private int _shownRow = -1;

    /// <summary>Drives this LED, which may be null where none is fitted.</summary>
    public StatusLight(IOutputPin led, Controller controller, ShutterProgram shutter, StorageHealth storage)
    {
        _storage = storage;
        _led = led;
        _controller = controller;
        _shutter = shutter;
        _led?.Set(false);
    }

    /// <summary>Blinks a number, 0 to 999.</summary>
    public void BlinkNumber(long number)
    {
        number = number > MaxNumber ? MaxNumber : number < 0 ? 0 : number;
        _scriptCount = 0;
        Add(0, BetweenDigitsMs);
        if (number == 0)
        {
            AddFlashes(6, FlickerMs, FlickerMs);
        }

        AddFlashes((int)(number / 100), HundredMs, BetweenFlashesMs);
        AddFlashes((int)(number / 10 % 10), TenMs, BetweenFlashesMs);
        AddFlashes((int)(number % 10), OneMs, BetweenFlashesMs);
        _scriptWaits = true;
    }

    /// <summary>Three flickers: the gesture was rejected.</summary>
    public void BlinkRejection()
    {
        _scriptCount = 0;
        AddFlashes(3, FlickerMs, FlickerMs);
        _scriptWaits = true;
    }

    /// <summary>One pass of the loop.</summary>
    public void Update(long nowUs)
    {
        if (_led == null)
        {
            return;
        }

        int row = ButtonTable.RowOf(_controller);
        if (row != _row)
        {
            _row = row;
            _startUs = nowUs;
        }

        if (_shutter.IsPressed && row != ButtonTable.InFault)
        {
            // A number that the exposure interrupted starts again in the next gap.
            _scriptWaits = _scriptCount > 0;
            _shownRow = -1;
            Light(false);
            return;
        }

        if (_scriptWaits)
        {
            _scriptWaits = false;
            _startUs = nowUs;
        }

        if (_scriptCount > 0)
        {
            Light(ScriptIsOn(nowUs));
            _shownRow = -1;
        }
        else if (row != _shownRow || nowUs >= _patternUntilUs)
        {
            _shownRow = row;
            Light(PatternIsOn(Pattern(row), nowUs));
        }
    }

    // At rest, damaged flash is shown instead of the state: the profile in use may be an old one.
    private int[] Pattern(int row) => _storage.IsDamaged
        && (row == ButtonTable.Ready || row == ButtonTable.PositionUnknown || row == ButtonTable.NoProfile)
        ? LedPattern.StorageDamaged
        : LedPattern.OfRow(row);

    private bool ScriptIsOn(long nowUs)
    {
        long left = (nowUs - _startUs) / 1000;
        for (int i = 0; i < _scriptCount; i++)
        {
            left -= _script[i];
            if (left < 0)
            {
                return (i & 1) == 0;
            }
        }

        _scriptCount = 0;
        _startUs = nowUs;
        return false;
    }

    // The answer is valid until _patternUntilUs.
    private bool PatternIsOn(int[] pattern, long nowUs)
    {
        long period = 0;
        for (int i = 0; i < pattern.Length; i++)
        {
            period += pattern[i];
        }

        long inPeriodUs = (nowUs - _startUs) % (period * 1000);
        long left = inPeriodUs / 1000;
        long end = 0;
        for (int i = 0; i < pattern.Length; i++)
        {
            end += pattern[i];
            if (left < end)
            {
                _patternUntilUs = nowUs - inPeriodUs + (end * 1000);
                return (i & 1) == 0;
            }
        }

        return false;
    }

    private void Light(bool on)
    {
        if (on != _isOn)
        {
            _isOn = on;
            _led.Set(on);
        }
    }

    private void AddFlashes(int count, int onMs, int offMs)
    {
        for (int i = 0; i < count; i++)
        {
            Add(onMs, i == count - 1 ? BetweenDigitsMs : offMs);
        }
    }

    private void Add(int onMs, int offMs)
    {
        _script[_scriptCount++] = onMs;
        _script[_scriptCount++] = offMs;
    }
}
