// Readings taken at the keyboard: typed pairs, or presses of Enter timed here. Gives the text of a CSV file, so that
// typed readings are checked and can be saved like any file.

using System.Diagnostics;
using System.Globalization;
using System.Text;
using Hourhinge.App.Common;

namespace Hourhinge.App.Calibrate;

internal static class CalibrateCommandPrompt
{
    public static string Turns(bool stopwatch, double everyTurns, FileInfo? save)
    {
        if (save is { Exists: true })
        {
            throw new InputException(
                $"--save {save}: the file exists already and is left as it is; choose another name.");
        }

        var text = new StringBuilder("minutes,nut_turns\n");
        if (stopwatch)
        {
            Time(text, everyTurns);
        }
        else
        {
            Ask(text);
        }

        if (save != null)
        {
            try
            {
                AtomicFile.Write(save, "--save", text.ToString());
            }
            catch (InputException)
            {
                // The readings took an hour to make; they are printed when the disk is full.
                ConsoleOutput.WriteRemark(text.ToString());
                throw;
            }

            ConsoleOutput.WriteRemark($"Kept the readings in {save}.");
        }

        return text.ToString();
    }

    private static void Ask(StringBuilder text)
    {
        ConsoleOutput.WriteRemark("Type minutes since the drive's start and nut turns, such as: 5.02, 5");
        ConsoleOutput.WriteRemark("One reading a line; an empty line ends.");
        while (Console.ReadLine() is { } line && line.Trim().Length > 0)
        {
            text.Append(line.Trim()).Append('\n');
        }
    }

    // Times count from the first Enter, which is pressed as the drive starts.
    private static void Time(StringBuilder text, double everyTurns)
    {
        ConsoleOutput.WriteRemark(
            "Press Enter at the moment when the drive starts, then each time the nut's mark passes the pointer.");
        ConsoleOutput.WriteRemark(
            $"That is every {everyTurns.ToString(CultureInfo.InvariantCulture)} turn(s). Missed one? Type s and "
            + "Enter to skip it. q and Enter ends.");
        if (Console.ReadLine() is null)
        {
            return;
        }

        var clock = Stopwatch.StartNew();
        double turns = 0;
        while (Console.ReadLine() is { } line && line.Trim() is not ("q" or "Q"))
        {
            TimeSpan at = clock.Elapsed;
            turns += everyTurns;
            bool skipped = line.Trim() is "s" or "S";
            if (!skipped)
            {
                text.Append(CultureInfo.InvariantCulture, $"{at.TotalMinutes:F5},{turns}\n");
            }

            ConsoleOutput.WriteRemark($"{turns} turns at {at.TotalMinutes:0.000} min{(skipped ? " skipped" : "")}");
        }
    }
}
