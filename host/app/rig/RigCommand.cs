// hourhinge rig new | check: begin a rig file, and find out what is wrong with one.

using System.CommandLine;
using System.Text;
using Hourhinge.App.Common;
using Hourhinge.Rig;
using Hourhinge.SharedMath.Geometry;

namespace Hourhinge.App.Rig;

internal static class RigCommand
{
    public static Command Create() => new("rig", "Begin a rig file, or check one.") { CreateNew(), CreateCheck() };

    private static Command CreateNew()
    {
        var form = new Option<string?>("--form")
        { Description = $"Hinge form: {string.Join(", ", RigTemplate.Forms)}. Asks nothing.", HelpName = "FORM" };
        form.AcceptOnlyFromAmong([.. RigTemplate.Forms]);
        var drive = new Option<string?>("--drive")
        { Description = $"Drive: {string.Join(", ", RigTemplate.Drives)}. Asks nothing.", HelpName = "DRIVE" };
        drive.AcceptOnlyFromAmong([.. RigTemplate.Drives]);
        var file = new Argument<FileInfo>("FILE") { Description = "The file to write; it must not exist yet." };
        var command = new Command("new",
            "Ask for your measurements and write a rig file. With --form or --drive, or without a terminal: write a "
            + "commented file with sample values.")
        { file, form, drive };
        command.SetAction(parsed => New(parsed.GetRequiredValue(file), parsed.GetValue(form), parsed.GetValue(drive)));
        return command;
    }

    private static int New(FileInfo file, string? form, string? drive)
    {
        if (file.Exists || Directory.Exists(file.FullName))
        {
            throw Exists(file);
        }

        bool asks = form == null && drive == null && !Console.IsInputRedirected && !Console.IsOutputRedirected;
        string text = asks
            ? new RigInterview(Console.In, Console.Out).Ask(file.ToString())
            : RigTemplate.Text(form ?? "straight-rod", drive ?? "stepper");
        if (!AtomicFile.WriteNew(file, "", Encoding.UTF8.GetBytes(text)))
        {
            throw Exists(file);
        }

        ConsoleOutput.WriteRemark(asks
            ? $"Wrote {file}. Next: hourhinge profile {file}"
            : $"Wrote {file}: a {form ?? "straight-rod"} rig with sample values. Put in your measurements, then: "
                + $"hourhinge rig check {file}");
        return ExitCode.Done;
    }

    private static InputException Exists(FileInfo file) =>
        new($"{file}: the file exists already and is left as it is; choose another name.");

    private static Command CreateCheck()
    {
        Argument<FileInfo> rig = SharedOptions.RigFile();
        Option<bool> json = SharedOptions.Json();
        var command = new Command("check",
            "Read a rig file and compile its drive; say what is wrong, if anything.") { rig, json };
        command.SetAction(parsed =>
        {
            LoadedRig loaded = LoadedRig.From(parsed.GetRequiredValue(rig));
            double minutes = loaded.Drive.Design.TravelSec / 60;
            if (parsed.GetValue(json))
            {
                ConsoleOutput.WriteJson(w =>
                {
                    w.WriteString("rig", loaded.Rig.Name);
                    w.WriteBoolean("ok", true);
                    w.Number("travel_min", minutes, 2);
                    w.WriteNumber("profile_bytes", loaded.Drive.Bytes.Length);
                    w.Number("longest_pass_ms", LoopSpeed.LongestPassMs(loaded.Rig, loaded.Drive.Design), 1);
                });
            }
            else
            {
                ConsoleOutput.WriteLine(
                    $"{loaded.Path}: {loaded.Rig.Name} is sound: {minutes:0.0} minutes of travel, profile of "
                    + $"{loaded.Drive.Bytes.Length} bytes.");
                if (loaded.Rig.Hinge is SwivelledRodHinge { BendRadiusMm: > 0 })
                {
                    ConsoleOutput.WriteLine(
                        "The bent rod must swivel freely at both ends: clamped at one end, its rate is "
                        + "not the one computed here.");
                }
            }

            if (RigDrive.TooSlow(loaded.Rig.Motor.Dc, loaded.Drive.Design) is { } slow)
            {
                ConsoleOutput.WriteRemark(slow);
            }

            if (LoopSpeed.Warning(loaded.Rig, loaded.Drive.Design) is { } warning)
            {
                ConsoleOutput.WriteRemark(warning);
            }

            return ExitCode.Done;
        });
        return command;
    }
}
