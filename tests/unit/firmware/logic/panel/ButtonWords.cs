// The rows and actions of the button's table in words, as firmware/BUTTON.md writes them.

using Hourhinge.Firmware.Panel;

namespace Hourhinge.Tests.Firmware.Logic.Panel;

internal static class ButtonWords
{
    /// <summary>The row in words.</summary>
    internal static string RowName(int row)
    {
        switch (row)
        {
            case ButtonTable.NoProfile: return "idle, no profile";
            case ButtonTable.Ready: return "idle, position known";
            case ButtonTable.PositionUnknown: return "idle, position unknown";
            case ButtonTable.Tracking: return "tracking";
            case ButtonTable.Rewinding: return "rewinding";
            case ButtonTable.EndOfTravel: return "end of travel";
            case ButtonTable.InFault: return "fault";
            default: return "jogging";
        }
    }

    /// <summary>The action in words.</summary>
    internal static string ActionName(int action)
    {
        switch (action)
        {
            case ButtonTable.Start: return "start tracking here";
            case ButtonTable.Stop: return "stop";
            case ButtonTable.Rewind: return "rewind, or declare the start";
            case ButtonTable.BlinkMinutes: return "blink the minutes left";
            case ButtonTable.BlinkFault: return "blink the fault's number";
            case ButtonTable.ClearFault: return "clear the fault";
            case ButtonTable.Reject: return "refuse (flicker)";
            default: return "nothing";
        }
    }
}
