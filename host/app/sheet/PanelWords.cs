// The button's gestures and the LED's codes in words, from the firmware's own tables.

using Hourhinge.Firmware.Panel;
using Hourhinge.Rig;

namespace Hourhinge.App.Sheet;

internal static class PanelWords
{
    private static readonly string[] _states =
    [
        "idle, no profile", "idle, ready", "idle, position unknown", "tracking", "rewinding", "end of travel", "fault",
        "jogging",
    ];

    /// <summary>State, LED, press, hold, double press: a row for each state.</summary>
    public static IEnumerable<string[]> Rows(RigDescription rig)
    {
        for (int row = 0; row < ButtonTable.Rows; row++)
        {
            int state = row;
            string[] actions = [.. new[] { Gesture.Press, Gesture.Hold, Gesture.DoublePress }
                .Select(g => Word(ButtonTable.Action(state, g), rig))];
            yield return [_states[row], Light(LedPattern.OfRow(row)), .. actions];
        }
    }

    /// <summary>A pattern of milliseconds, on and off in turn, in words.</summary>
    public static string Light(int[] pattern)
    {
        int flashes = pattern.Length / 2;
        int periodMs = pattern.Sum();
        string size = pattern[0] > 100 ? "longer " : "";
        string noun = flashes == 1 ? "flash" : "flashes";
        return flashes == 1 && periodMs <= 1000
            ? $"{1000.0 / periodMs:0} flashes a second"
            : $"{flashes} {size}{noun} every {periodMs / 1000.0:0} s";
    }

    private static string Word(int action, RigDescription rig) => action switch
    {
        ButtonTable.Start => "start here",
        ButtonTable.Stop => "stop",
        ButtonTable.Rewind => CanRewind(rig) ? "rewind" : "turn back by hand first: declares the start",
        ButtonTable.BlinkMinutes => "blinks the minutes left",
        ButtonTable.BlinkFault => "blinks the fault's number",
        ButtonTable.ClearFault => "clear the fault",
        ButtonTable.Reject => "refused: flicker",
        _ => "nothing",
    };

    private static bool CanRewind(RigDescription rig) => rig.Motor.Dc is not { HasBridge: false };
}
