using System.Text;
using Hourhinge.Sky.Bodies;

namespace Hourhinge.App.Night;

/// <summary>Stars about the pole, drawn in text: a letter for each star, and what it stands for.</summary>
internal static class PolePattern
{
    // A character of a terminal is about twice as high as wide.
    private const int HalfColumns = 21;
    private const int HalfRows = 10;

    /// <summary>The drawing, several lines.</summary>
    /// <param name="stars">Stars with their magnitudes; those beyond the radius are listed only.</param>
    /// <param name="radiusDeg">Half the height of the drawing.</param>
    public static string Text(
        IReadOnlyList<(string Name, double Magnitude, PoleSighting Seen)> stars, double radiusDeg)
    {
        char[][] grid = [.. Enumerable.Range(0, (2 * HalfRows) + 1)
            .Select(_ => new string(' ', (2 * HalfColumns) + 1).ToCharArray())];
        grid[HalfRows][HalfColumns] = '+';
        var legend = new StringBuilder();
        for (int i = 0; i < stars.Count; i++)
        {
            char letter = (char)('a' + i);
            PoleSighting seen = stars[i].Seen;
            double radius = seen.Distance.Degrees / radiusDeg;
            int column = HalfColumns + (int)Math.Round(HalfColumns * radius * seen.Clock.Sin());
            int row = HalfRows - (int)Math.Round(HalfRows * radius * seen.Clock.Cos());
            if (row >= 0 && row < grid.Length && column >= 0 && column < grid[0].Length)
            {
                grid[row][column] = letter;
            }

            legend.Append($"\n{letter}: {stars[i].Name}, magnitude {stars[i].Magnitude:0.0}, "
                + $"{seen.Distance.Degrees:0.0}° from the pole towards {seen.HandText()}");
        }

        string border = "." + new string('-', grid[0].Length) + ".";
        return string.Join('\n', [border, .. grid.Select(r => $"|{new string(r)}|"), border]) + legend;
    }
}
