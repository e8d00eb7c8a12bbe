// The LED's pattern for each state. Tests check them against the rules below and against firmware/BUTTON.md.
// StatusLight.cs plays them.

namespace Hourhinge.Firmware.Panel;

/// <summary>
/// Times in ms, alternately on and off, repeated. The LED is beside the lens and the user's eyes are dark-adapted:
/// flashes are short, no pattern is on for more than 5 % of the time, and tracking flashes least.
/// </summary>
public static class LedPattern
{
    private const int Flash = 20;

    private static readonly int[][] _byRow =
    {
        new int[] { Flash, 250, Flash, 250, Flash, 3000 },
        new int[] { Flash, 3000 },
        new int[] { Flash, 250, Flash, 3000 },
        new int[] { Flash, 10000 },
        new int[] { Flash, 480 },
        new int[] { 200, 5000 },
        new int[] { Flash, 80, Flash, 80, Flash, 80, Flash, 80, Flash, 1700 },
        new int[] { Flash, 480 },
    };

    /// <summary>Four flashes: stored data is damaged.</summary>
    public static readonly int[] StorageDamaged = { Flash, 250, Flash, 250, Flash, 250, Flash, 3000 };

    /// <summary>The pattern of a state, by the rows of <see cref="ButtonTable"/>.</summary>
    public static int[] OfRow(int row) => _byRow[row];
}
