// The action of the button for every state and gesture. A test compares firmware/BUTTON.md with this table.
// OneButton.cs executes the actions.

using Hourhinge.Firmware.Control;

namespace Hourhinge.Firmware.Panel;

/// <summary>State × gesture → action.</summary>
public static class ButtonTable
{
    /// <summary>Actions.</summary>
    public const int Nothing = 0, Start = 1, Stop = 2, Rewind = 3, BlinkMinutes = 4, BlinkFault = 5, ClearFault =
        6, Reject = 7;

    /// <summary>Rows: the controller's states, with idle split by what is known.</summary>
    public const int NoProfile = 0, Ready = 1, PositionUnknown = 2, Tracking = 3, Rewinding = 4, EndOfTravel =
        5, InFault =
        6, Jogging = 7;

    /// <summary>Number of rows.</summary>
    public const int Rows = 8;

    // Columns: press, hold, double press. An action that the controller rejects is shown like Reject.
    private static readonly int[][] _actions =
    {
        new int[] { Reject, Reject, Reject },
        new int[] { Start, Rewind, BlinkMinutes },
        new int[] { Reject, Rewind, Reject },
        new int[] { Stop, Rewind, BlinkMinutes },
        new int[] { Stop, Nothing, Nothing },
        new int[] { Reject, Rewind, BlinkMinutes },
        new int[] { ClearFault, Rewind, BlinkFault },
        new int[] { Stop, Rewind, Nothing },
    };

    /// <summary>The row that the controller is in.</summary>
    public static int RowOf(Controller controller)
    {
        switch (controller.State)
        {
            case ControllerState.Tracking: return Tracking;
            case ControllerState.Rewinding: return Rewinding;
            case ControllerState.EndOfTravel: return EndOfTravel;
            case ControllerState.Fault: return InFault;
            case ControllerState.Jogging: return Jogging;
            default:
                return controller.Profile == null ? NoProfile : controller.IsPositionKnown
            ? Ready
            : PositionUnknown;
        }
    }

    /// <summary>The action for a row and a gesture (<see cref="Gesture.Press"/> and the others).</summary>
    public static int Action(int row, int gesture) =>
        gesture < Gesture.Press || gesture > Gesture.DoublePress ? Nothing : _actions[row][gesture - Gesture.Press];
}
