// hourhinge calibrate ...: from measurements to true constants. Here: what every kind of calibration shares - options,
// the verdict, the writing. One kind, one file: CalibrateCommandTurns.cs, CalibrateCommandRod.cs.

using System.CommandLine;
using System.Globalization;
using System.Text.Json;
using Hourhinge.App.Common;
using Hourhinge.Calibration;
using Hourhinge.Rig;

namespace Hourhinge.App.Calibrate;

internal static class CalibrateCommand
{
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
        try
        {
            return File.ReadAllText(file.FullName);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            throw new InputException(
                $"--data {file}: cannot read the measurements: {(file.Exists ? e.Message : "there is no such file")}");
        }
    }

    /// <summary>A positive number as an option.</summary>
    public static Option<double> Positive(string name, double usual, double most, string unit, string what)
    {
        var option = new Option<double>(name)
        {
            Description = $"{what}, {unit}.",
            HelpName = unit.ToUpperInvariant(),
            DefaultValueFactory = _ => usual,
        };
        option.Validators.Add(result =>
        {
            if (result.Tokens.Count == 1
                && !(double.TryParse(result.Tokens[0].Value, NumberStyles.Float, CultureInfo.InvariantCulture,
                    out double v) && v > 0 && v <= most))
            {
                result.AddError($"{name} {result.Tokens[0].Value}: must be above 0, up to {most} {unit}");
            }
        });
        return option;
    }

    /// <summary>A value and its uncertainty, to two digits of the uncertainty.</summary>
    public static (string Value, string Sigma) Rounded(double value, double sigma)
    {
        int decimals = sigma > 0 && double.IsFinite(sigma)
            ? Math.Clamp(1 - (int)Math.Floor(Math.Log10(sigma)), 0, 6) : 4;
        return (ConsoleOutput.Number(value, decimals),
            ConsoleOutput.Number(Math.Max(sigma, Math.Pow(10, -decimals)), decimals));
    }
}

/// <summary>The options that every kind of calibration takes, and what follows from them at the end.</summary>
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

    /// <summary>The day, for notes in the rig file.</summary>
    public static string Today => DateTime.Now.ToString("yyyy-MM-dd", CultureInfo.InvariantCulture);

    /// <summary>What [calibration] says afterwards; methods that stand there stay.</summary>
    public static IEnumerable<RigChange> Record(RigDescription rig, string method)
    {
        string[] before = (rig.Calibration?.Method ?? "").Split(", ", StringSplitOptions.RemoveEmptyEntries);
        yield return new RigChange("calibration", "date", $"\"{Today}\"");
        yield return new RigChange("calibration", "method",
            $"\"{string.Join(", ", before.Append(method).Distinct())}\"");
    }

    /// <summary>Prints the result and the verdict, and writes when asked and trusted. Gives the exit code.</summary>
    public int Finish(
        ParseResult parsed,
        string rigFile,
        CalibrationAssessment verdict,
        IReadOnlyList<RigChange> changes,
        Action<Utf8JsonWriter> json,
        Action<Theme> table)
    {
        FileInfo? page = parsed.GetValue(_html);
        HtmlFile.Check(page);
        bool write = parsed.GetValue(_write);
        bool dryRun = parsed.GetValue(_dryRun);
        RigEdit? edit = verdict.IsTrusted && changes.Count > 0 && (write || dryRun)
            ? RigEditor.Plan(rigFile, changes)
            : null;
        bool written = edit != null && write && !dryRun;
        if (written)
        {
            edit!.Save();
        }

        if (parsed.GetValue(_json))
        {
            ConsoleOutput.Json(w =>
            {
                json(w);
                PutVerdict(w, verdict);
                PutChanges(w, edit, written);
            });
        }
        else
        {
            var theme = new Theme(parsed.GetValue(_night));
            table(theme);
            ShowVerdict(theme, verdict);
            ShowChanges(theme, edit, written, rigFile, verdict.IsTrusted && changes.Count > 0);
        }

        if (page != null)
        {
            HtmlFile.Write(page, CalibrateHtml.Page(Fields(json), verdict.Reasons, rigFile, parsed.GetValue(_night)));
        }

        if (!verdict.IsTrusted && write)
        {
            ConsoleOutput.Note($"{rigFile} is left as it is.");
        }

        return verdict.IsTrusted ? ExitCode.Done : ExitCode.AnswerIsNo;
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

    private static void ShowVerdict(Theme theme, CalibrationAssessment verdict)
    {
        if (verdict.IsTrusted)
        {
            theme.Verdict("Good to use: nothing in the readings speaks against it.");
            return;
        }

        theme.Verdict("DO NOT TRUST THIS:");
        foreach (string reason in verdict.Reasons)
        {
            theme.Line("  - " + reason);
        }
    }

    private static void ShowChanges(Theme theme, RigEdit? edit, bool written, string rigFile, bool couldWrite)
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
                $"{rigFile} is unchanged. The same command with --write puts the result in; --dry-run shows the "
                + "lines.");
        }
    }

    private static void PutVerdict(Utf8JsonWriter w, CalibrationAssessment verdict)
    {
        w.WriteBoolean("trusted", verdict.IsTrusted);
        w.Texts("reasons_not_to_trust", verdict.Reasons);
    }

    private static void PutChanges(Utf8JsonWriter w, RigEdit? edit, bool written)
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
