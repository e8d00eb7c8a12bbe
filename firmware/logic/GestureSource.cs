// The door to the one button: gestures, not levels. What each gesture does in each state: ButtonTable.cs.

namespace Hourhinge.Firmware;

/// <summary>Codes of gestures.</summary>
public static class Gesture
{
    public const int None = 0, Press = 1, Hold = 2, DoublePress = 3;
}

/// <summary>A button that has already told press, hold and double press apart.</summary>
public interface IGestureSource
{
    /// <summary>Takes the oldest gesture that has not been taken yet; <see cref="Gesture.None"/> when there is none.</summary>
    int Take();
}
