// The states' numbers and names. What each state does: Controller.cs and ControllerUpdate.cs.

namespace Hourhinge.Firmware.Control;

/// <summary>States of the controller.</summary>
public static class ControllerState
{
    public const int Idle = 0, Tracking = 1, Rewinding = 2, EndOfTravel = 3, Fault = 4, Jogging = 5;

    /// <summary>The state as the protocol says it.</summary>
    public static string Name(int state)
    {
        switch (state)
        {
            case Idle: return "IDLE";
            case Tracking: return "TRACKING";
            case Rewinding: return "REWINDING";
            case EndOfTravel: return "END";
            case Jogging: return "JOGGING";
            default: return "FAULT";
        }
    }
}
