// Readings taken at the keyboard: typed pairs, or presses of Enter timed here. Each reading is checked and written to
// disk as soon as it is there; a wrong line is named and asked again.

using System.Diagnostics;
using System.Globalization;
using Hourhinge.App.Common;
using Hourhinge.Calibration.Readings;
using Hourhinge.Calibration.Turns;

namespace Hourhinge.App.Calibrate;

/// <summary>A session at the keyboard, kept in a file from the first reading on.</summary>
internal sealed class CalibrateCommandPrompt
{
    // A remark, the column names, and the first reading.
    private const int FirstReadingLines = 3;

    private readonly FileInfo _file;
    private string _text;

    private CalibrateCommandPrompt(FileInfo file, string text)
    {
        _file = file;
        _text = text;
    }

    /// <summary>Asks for readings; returns the text of the file that holds them.</summary>
    /// <param name="stopwatch">Time presses of Enter instead of asking for minutes.</param>
    /// <param name="everyTurns">Nut turns from one press to the next.</param>
    /// <param name="save">File for the readings; one that exists is continued. Null: a new file in this
    /// folder.</param>
    public static string Turns(bool stopwatch, double everyTurns, FileInfo? save)
    {
        DateTime now = DateTime.UtcNow;
        FileInfo file = save
            ?? new FileInfo($"turns-{now.ToString("yyyyMMdd-HHmmss", CultureInfo.InvariantCulture)}.csv");
        bool goesOn = file.Exists;
        if (goesOn && stopwatch)
        {
            throw new InputException(
                $"--save {file}: the file exists already; a stopwatch starts at 0 and cannot continue it. Choose "
                + "another name.");
        }

        var prompt = new CalibrateCommandPrompt(file, goesOn
            ? Existing(file)
            : $"# measured {now.ToString("yyyy-MM-dd'T'HH:mm:ss'Z'", CultureInfo.InvariantCulture)}\n"
                + "minutes,nut_turns\n");
        ConsoleOutput.WriteRemark($"Each reading is kept in {file} at once.");
        if (stopwatch)
        {
            prompt.Time(everyTurns);
        }
        else
        {
            prompt.Ask(goesOn);
        }

        return prompt._text;
    }

    private static string Existing(FileInfo file)
    {
        string text = CalibrateCommand.ReadText(file);
        try
        {
            int count = TurnsCalibration.Read(file.ToString(), text).Count;
            ConsoleOutput.WriteRemark($"{file} has {count} readings; go on from there.");
            return text.EndsWith('\n') ? text : text + "\n";
        }
        catch (MeasurementException e)
        {
            throw new InputException(
                $"--save {file}: the file exists already and does not hold readings to continue ({e.Message}) It is "
                + "left as it is; choose another name.");
        }
    }

    private void Ask(bool goesOn)
    {
        ConsoleOutput.WriteRemark(
            $"Type minutes since the drive's start and nut turns, such as: {(goesOn ? "45.1, 45" : "5.02, 5")}");
        ConsoleOutput.WriteRemark("One reading a line; an empty line ends.");
        while (Console.ReadLine() is { } line && line.Trim() is not ("" or "q" or "Q"))
        {
            if (Row(line.Trim()) is not { } row)
            {
                ConsoleOutput.WriteRemark($"{line.Trim()}: not kept: must be two numbers, minutes and turns, such as "
                    + "5.02 5 or 5.02, 5 (with decimal commas: 5,02; 5). Type it again.");
                continue;
            }

            Keep(row);
        }
    }

    // The line as a row of CSV; null when it is not clearly two numbers. Beside a semicolon, commas are decimal commas.
    private static string? Row(string typed)
    {
        string line = typed.Contains(';', StringComparison.Ordinal)
            ? typed.Replace(',', '.').Replace(';', ',')
            : typed;
        string[] words = line.Split((char[]?)null, StringSplitOptions.RemoveEmptyEntries);
        int commas = line.Count(c => c == ',');
        bool isDecimalComma = commas == 1 && words.Length == 2 && !words[0].EndsWith(',') && !words[1].StartsWith(',');
        string row = commas == 0 && words.Length == 2 ? string.Join(", ", words) : line;
        return isDecimalComma || row.Contains('#', StringComparison.Ordinal) || row.Count(c => c == ',') != 1
            ? null : row;
    }

    // Times count from the first Enter, which is pressed as the drive starts.
    private void Time(double everyTurns)
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
            if (line.Trim() is "s" or "S")
            {
                ConsoleOutput.WriteRemark($"{turns} turns skipped");
                continue;
            }

            Keep(string.Create(CultureInfo.InvariantCulture, $"{at.TotalMinutes:F7},{turns}"));
        }
    }

    // Checks the reading after those before it, and writes all of them.
    private void Keep(string row)
    {
        IReadOnlyList<TurnReading> readings;
        try
        {
            readings = TurnsCalibration.Read("reading", _text + row + "\n");
        }
        catch (MeasurementException e)
        {
            ConsoleOutput.WriteRemark($"Not kept: {e.Message} Type it again.");
            return;
        }

        _text += row + "\n";
        Save();
        TurnReading last = readings[^1];
        ConsoleOutput.WriteRemark(
            $"{readings.Count}: {last.NutTurns.ToString(CultureInfo.InvariantCulture)} turns at "
            + $"{last.Minutes.ToString("0.###", CultureInfo.InvariantCulture)} min, kept");
    }

    // The readings took an hour to make: a full disk does not end the session, they stay in memory and are printed.
    private void Save()
    {
        try
        {
            AtomicFile.Write(_file, "--save", _text);
        }
        catch (InputException e) when (_text.Count(c => c == '\n') > FirstReadingLines)
        {
            ConsoleOutput.WriteRemark($"{e.Message} The readings so far are:\n{_text}");
        }
    }
}
