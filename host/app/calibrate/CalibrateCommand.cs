// hourhinge calibrate ...: from measurements to true constants. This file holds what all kinds of calibration share:
// options, assessment, writing. Each kind has a file: CalibrateCommandTurns.cs, ...Rod.cs, ...Stars.cs.

using System.CommandLine;
using System.Globalization;
using System.Text.Json;
using Hourhinge.App.Common;
using Hourhinge.Calibration;
using Hourhinge.Calibration.Readings;
using Hourhinge.Rig;

namespace Hourhinge.App.Calibrate;

internal static class CalibrateCommand
{
    // 10 000 readings of 100 characters.
    private const int MaxDataBytes = 1_000_000;

    public static Command Create() =>
        new("calibrate", "Find a built rig's true constants from measurements, with error bars.")
    {
        CalibrateCommandTurns.Create(),
        CalibrateCommandRod.Create(),
        CalibrateCommandStars.Create(),
    };

    /// <summary>A file of measurements as text.</summary>
    public static string ReadText(FileInfo file)
    {
        byte[] bytes = BoundedFile.Read(file.FullName, MaxDataBytes, out string problem)
            ?? throw new InputException($"--data {file}: cannot read the measurements: {problem}");
        using var reader = new StreamReader(new MemoryStream(bytes));
        return reader.ReadToEnd();
    }

    /// <summary>Digest and time of a file of measurements.</summary>
    public static ReadingsStamp Stamp(FileInfo file, string text) =>
        ReadingsStamp.OfText(file.ToString(), text, file.LastWriteTimeUtc);

    /// <summary>A value and its uncertainty, to two digits of the uncertainty.</summary>
    public static (string Value, string Sigma) Rounded(double value, double sigma)
    {
        int decimals = sigma > 0 && double.IsFinite(sigma)
            ? Math.Clamp(1 - (int)Math.Floor(Math.Log10(sigma)), 0, 6) : 4;
        return (ConsoleOutput.Number(value, decimals),
            ConsoleOutput.Number(Math.Max(sigma, Math.Pow(10, -decimals)), decimals));
    }
}

/// <summary>The options that all kinds of calibration share, and the output that they control.</summary>
internal sealed class CalibrateOutput
{
    private readonly Option<bool> _json = SharedOptions.Json();
    private readonly Option<bool> _night = SharedOptions.Night();
    private readonly Option<FileInfo?> _html = SharedOptions.Html();
    private readonly Option<bool> _write = new("--write")
    { Description = "Write the result into the rig file, with its uncertainty and date; comments stay." };
    private readonly Option<bool> _dryRun = new("--dry-run")
    { Description = "Show the lines of the rig file that --write would change, and change nothing." };

    /// <summary>Adds the options to a command.</summary>
    public void AddTo(Command command)
    {
        command.Add(_json);
        command.Add(_night);
        command.Add(_html);
        command.Add(_write);
        command.Add(_dryRun);
    }

    /// <summary>True when the rig file is to be changed.</summary>
    public bool Writes(ParseResult parsed) => parsed.GetValue(_write);

    /// <summary>True for dim red.</summary>
    public bool IsNight(ParseResult parsed) => parsed.GetValue(_night);

    /// <summary>Today's date, for notes in the rig file.</summary>
    public static string Today => DateTime.Now.ToString("yyyy-MM-dd", CultureInfo.InvariantCulture);

    /// <summary>Changes of the table [calibration]; earlier methods are kept.</summary>
    public static IEnumerable<RigChange> Record(RigDescription rig, string method, ReadingsStamp readings)
    {
        string[] before = (rig.Calibration?.Method ?? "").Split(", ", StringSplitOptions.RemoveEmptyEntries);
        yield return new RigChange("calibration", "date", $"\"{Today}\"");
        yield return new RigChange("calibration", "method",
            $"\"{string.Join(", ", before.Append(method).Distinct())}\"");
        yield return DriveState.Against(rig, method, readings);
    }

    // The changes, and the lines that tell which drive they make.
    private static RigEdit Plan(string rigFile, IReadOnlyList<RigChange> changes)
    {
        RigEdit edit = RigEditor.Plan(rigFile, changes);
        string method = changes.First(c => c.Key.EndsWith("_against", StringComparison.Ordinal)).Key.Split('_')[0];
        RigChange[] state = [.. DriveState.Changed(RigReader.Read(rigFile, edit.Before),
            RigReader.Read(rigFile, edit.After), method, DateTime.UtcNow)];
        return state.Length == 0 ? edit : RigEditor.Plan(rigFile, [.. changes, .. state]);
    }

    /// <summary>Prints the result and the assessment; changes the rig file when asked to and the result is trusted.
    /// Returns the exit code.</summary>
    public int Finish(
        ParseResult parsed,
        string rigFile,
        CalibrationAssessment assessment,
        IReadOnlyList<RigChange> changes,
        Action<Utf8JsonWriter> json,
        Action<Theme> table)
    {
        FileInfo? page = parsed.GetValue(_html);
        HtmlFile.Check(page);
        bool write = parsed.GetValue(_write);
        bool dryRun = parsed.GetValue(_dryRun);
        RigEdit? edit = assessment.IsTrusted && changes.Count > 0 && (write || dryRun)
            ? Plan(rigFile, changes)
            : null;
        bool written = edit != null && write && !dryRun;
        if (written)
        {
            edit!.Save();
        }

        if (parsed.GetValue(_json))
        {
            ConsoleOutput.WriteJson(w =>
            {
                json(w);
                WriteAssessment(w, assessment);
                WriteChanges(w, edit, written);
            });
        }
        else
        {
            var theme = new Theme(parsed.GetValue(_night));
            table(theme);
            PrintAssessment(theme, assessment);
            PrintChanges(theme, edit, written, rigFile, assessment.IsTrusted && changes.Count > 0);
        }

        if (page != null)
        {
            HtmlFile.Write(page,
                CalibrateHtml.Page(Fields(json), assessment.Reasons, rigFile, parsed.GetValue(_night)));
        }

        if (!assessment.IsTrusted && write)
        {
            ConsoleOutput.WriteRemark($"{rigFile} is left as it is.");
        }

        return assessment.IsTrusted ? ExitCode.Done : ExitCode.AnswerIsNo;
    }

    private static JsonElement Fields(Action<Utf8JsonWriter> json)
    {
        using var memory = new MemoryStream();
        using (var writer = new Utf8JsonWriter(memory))
        {
            writer.WriteStartObject();
            json(writer);
            writer.WriteEndObject();
        }

        return JsonDocument.Parse(memory.ToArray()).RootElement;
    }

    private static void PrintAssessment(Theme theme, CalibrationAssessment assessment)
    {
        if (assessment.IsTrusted)
        {
            theme.Assessment("Good to use: nothing in the readings speaks against it.");
            return;
        }

        theme.Assessment("DO NOT TRUST THIS:");
        foreach (string reason in assessment.Reasons)
        {
            theme.Line("  - " + reason);
        }
    }

    private static void PrintChanges(Theme theme, RigEdit? edit, bool written, string rigFile, bool couldWrite)
    {
        foreach (RigEditLine line in edit?.Lines ?? [])
        {
            if (line.Before != null)
            {
                theme.Line($"- {line.Before.Trim()}");
            }

            theme.Line($"+ {line.After.Trim()}   ({line.Name})");
        }

        if (written)
        {
            theme.Line($"Wrote {rigFile}. Its profile has changed: upload it again.");
        }
        else if (couldWrite)
        {
            theme.Line(
                $"{rigFile} is unchanged. The same command with --write stores the result; --dry-run shows the "
                + "lines.");
        }
    }

    private static void WriteAssessment(Utf8JsonWriter w, CalibrationAssessment assessment)
    {
        w.WriteBoolean("trusted", assessment.IsTrusted);
        w.Texts("reasons_not_to_trust", assessment.Reasons);
    }

    private static void WriteChanges(Utf8JsonWriter w, RigEdit? edit, bool written)
    {
        w.WriteStartArray("rig_file_changes");
        foreach (RigEditLine line in edit?.Lines ?? [])
        {
            w.WriteStartObject();
            w.WriteString("key", line.Name);
            w.WriteString("before", line.Before);
            w.WriteString("after", line.After);
            w.WriteEndObject();
        }

        w.WriteEndArray();
        w.WriteBoolean("rig_file_written", written);
    }
}
