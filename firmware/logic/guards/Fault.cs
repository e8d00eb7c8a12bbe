// The reasons of a fault, as numbers and as sentences.

namespace Hourhinge.Firmware.Guards;

/// <summary>Reasons of a fault.</summary>
public static class Fault
{
    public const int None = 0, BothSwitches = 1, HomeNotFound = 2, HomeStuck = 3, Stall = 4, SupplyLow = 5,
        HomeInMidTravel = 6, Internal = 7, EncoderReversed = 8, StepCount = 9;

    /// <summary>The reason in words, without commas or quote marks.</summary>
    public static string Text(int reason)
    {
        switch (reason)
        {
            case None: return "no fault";
            case BothSwitches: return "home and end switch are closed at once: check their wiring";
            case HomeNotFound: return "the home switch did not close in time: check the switch and the motor";
            case HomeStuck: return "the home switch stays closed although the motor moved off it";
            case Stall: return "the motor does not move as told: check for a jam and a loose plug";
            case SupplyLow: return "the supply voltage is too low: charge or change the pack";
            case HomeInMidTravel: return "the home switch closed in mid-travel: steps were lost or it is bent";
            case EncoderReversed: return "the encoder counts backward: swap its two signal wires";
            case StepCount: return "the step counter does not count what is sent: check its wire to the driver's STEP";
            default: return "internal error";
        }
    }
}
