// hourhinge device ...: query and command a controller from the laptop. The same SCPI works from any terminal.

using System.CommandLine;
using Hourhinge.App.Common;
using Hourhinge.App.Link;

namespace Hourhinge.App.Device;

internal static class DeviceCommand
{
    public static Command Create() => new("device", "Query a controller, or send it a command.")
    {
        CreateStatus(),
        DeviceWatch.Create(),
        Simple("start", "Start tracking from the present position.", "INITiate", "Tracking."),
        Simple("resume", "Continue after a stop, at the position now due.", "INITiate:RESume",
            "Tracking, catching up with the sky."),
        CreateStop(),
        Simple("rewind", "Rewind to the start of the travel.", "REWind", "Rewinding."),
        DeviceMotion.CreateJog(),
        Simple("at-start", "Declare that the hinge stands at the start of its travel.", "MOTion:POSition:DECLare 0",
            "Position is 0."),
        DeviceMotion.CreateAt(),
        DeviceShutter.Create(),
        DeviceShutter.CreateDither(),
        DeviceSupply.Create(),
        DeviceSupply.CreateKeepAlive(),
        DeviceMotion.CreateClock(),
        DeviceEdit.Create(),
        DeviceBoard.Create(),
        CreateErrors(),
        CreateReadRig(),
        DeviceRaw.CreateSelfTest(),
        Simple("reset", "Stop, and bring back the stored settings (*RST); profile and position stay.", "*RST",
            "Reset: stopped, edits discarded, shutter settings those of the profile."),
        DeviceRaw.CreateCommands(),
        DeviceRaw.CreateSend(),
    };

    private static Command Simple(string name, string description, string scpi, string done)
    {
        Option<string> to = SharedOptions.To();
        var command = new Command(name, description) { to };
        command.SetAction(parsed =>
        {
            using ControllerLink link = ControllerLink.Open(parsed.GetRequiredValue(to));
            link.Command(scpi, $"`{name}`");
            ConsoleOutput.WriteLine(done);
            return ExitCode.Done;
        });
        return command;
    }

    private static Command CreateStop()
    {
        Option<string> to = SharedOptions.To();
        var command = new Command("stop", "Stop any motion; clears a fault.") { to };
        command.SetAction(parsed =>
        {
            ControllerLink.Stop(parsed.GetRequiredValue(to));
            Console.WriteLine("Stopped.");
            return ExitCode.Done;
        });
        return command;
    }

    private static Command CreateStatus()
    {
        Option<string> to = SharedOptions.To();
        Option<bool> json = SharedOptions.Json();
        Option<bool> night = SharedOptions.Night();
        var command =
            new Command("status", "State, position, time left, lateness, supply, shutter.") { to, json, night };
        command.SetAction(parsed =>
        {
            using ControllerLink link = ControllerLink.Open(parsed.GetRequiredValue(to));
            var reading = DeviceReading.Of(link);
            if (parsed.GetValue(json))
            {
                ConsoleOutput.WriteJson(reading.Write);
                return ExitCode.Done;
            }

            var theme = new Theme(parsed.GetValue(night));
            Spectre.Console.Table table = theme.Facts(reading.Identity);
            foreach ((string name, string value) in reading.Rows())
            {
                theme.Row(table, name, value);
            }

            Theme.Show(table);
            return ExitCode.Done;
        });
        return command;
    }

    private static Command CreateErrors()
    {
        Option<string> to = SharedOptions.To();
        var command = new Command("errors", "Read the controller's error queue until it is empty.") { to };
        command.SetAction(parsed =>
        {
            using ControllerLink link = ControllerLink.Open(parsed.GetRequiredValue(to));
            foreach (string error in link.DequeueErrors().DefaultIfEmpty("No errors."))
            {
                ConsoleOutput.WriteLine(error);
            }

            return ExitCode.Done;
        });
        return command;
    }

    private static Command CreateReadRig()
    {
        Option<string> to = SharedOptions.To();
        var command = new Command("read-rig", "Print the rig file that is stored on the controller.") { to };
        command.SetAction(parsed =>
        {
            using ControllerLink link = ControllerLink.Open(parsed.GetRequiredValue(to));
            if (link.Query("PROFile:SLOT?").StartsWith('-'))
            {
                throw new DeviceException("the controller holds no profile and no rig file yet.");
            }

            byte[] rig = link.QueryBlock("RIG:DATA?");
            if (Console.IsOutputRedirected)
            {
                ConsoleOutput.WriteBytes(rig);
            }
            else
            {
                Console.Write(VisibleText.Of(System.Text.Encoding.UTF8.GetString(rig), keepLines: true));
            }

            return ExitCode.Done;
        });
        return command;
    }
}
