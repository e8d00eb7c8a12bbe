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
        var form = new Option<string>("--form")
        {
            Description = "Hinge form: straight-rod, bent-rod or fixed-rod.",
            DefaultValueFactory = _ => "straight-rod"
        };
        form.AcceptOnlyFromAmong([.. RigTemplate.Forms]);
        var file = new Argument<FileInfo>("FILE") { Description = "The file to write; it must not exist yet." };
        var command =
            new Command("new", "Write a commented rig file to fill in with your measurements.") { file, form };
        command.SetAction(parsed => New(parsed.GetRequiredValue(file), parsed.GetRequiredValue(form)));
        return command;
    }

    private static int New(FileInfo file, string form)
    {
        try
        {
            using var target = new FileStream(file.FullName, FileMode.CreateNew);
            target.Write(Encoding.UTF8.GetBytes(RigTemplate.Text(form)));
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            throw new InputException(file.Exists
                ? $"{file}: the file exists already and is left as it is; choose another name."
                : $"{file}: cannot write the rig file: {e.Message}");
        }

        ConsoleOutput.WriteRemark(
            $"Wrote {file}: a {form} rig with sample values. Put in your measurements, then: hourhinge rig check "
            + $"{file}");
        return ExitCode.Done;
    }

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
                });
            }
            else
            {
                Console.WriteLine(
                    $"{loaded.Path}: {loaded.Rig.Name} is sound: {minutes:0.0} minutes of travel, profile of "
                    + $"{loaded.Drive.Bytes.Length} bytes.");
                if (loaded.Rig.Hinge is SwivelledRodHinge { BendRadiusMm: > 0 })
                {
                    Console.WriteLine("The bent rod must swivel freely at both ends: clamped at one end, its rate is "
                        + "not the one computed here.");
                }
            }

            return ExitCode.Done;
        });
        return command;
    }
}
