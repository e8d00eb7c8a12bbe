// The LED's patterns: what to flash when. A test measures them against the promises below; firmware/BUTTON.md shows
// them to people. Who plays them: StatusLight.cs.

namespace Hourhinge.Firmware.Panel;

/// <summary>
/// Times in ms, on and off in turn, repeated. A photographer's eyes are dark-adapted and the LED stands beside the
/// lens: flashes are short, no pattern is on for more than a twentieth of the time, tracking flashes least of all.
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

    /// <summary>The pattern of a state, by the rows of <see cref="ButtonTable"/>.</summary>
    public static int[] OfRow(int row) => _byRow[row];
}
