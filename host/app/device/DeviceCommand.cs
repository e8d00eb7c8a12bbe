// hourhinge device ...: query and command a controller from the laptop. The same SCPI works from any terminal.

using System.CommandLine;
using Hourhinge.App.Common;
using Hourhinge.App.Link;

namespace Hourhinge.App.Device;

internal static class DeviceCommand
{
    // SCPI-1999's not-a-number is 9.91E37.
    private const double UnknownNumber = 9.9e37;

    public static Command Create() => new("device", "Query a controller, or send it a command.")
    {
        CreateStatus(),
        Simple("start", "Start tracking from the present position.", "INITiate", "Tracking."),
        Simple("resume", "Continue after a stop, at the position now due.", "INITiate:RESume",
            "Tracking, catching up with the sky."),
        CreateStop(),
        Simple("rewind", "Rewind to the start of the travel.", "REWind", "Rewinding."),
        Simple("at-start", "Declare that the hinge stands at the start of its travel.", "MOTion:POSition:DECLare 0",
            "Position is 0."),
        CreateErrors(),
        CreateReadRig(),
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
        var command = new Command("status", "State, position, time left, lateness.") { to, json, night };
        command.SetAction(parsed =>
        {
            using ControllerLink link = ControllerLink.Open(parsed.GetRequiredValue(to));
            string state = link.Query("MOTion:STATe?");
            double position = link.QueryNumber("MOTion:POSition?");
            double due = link.QueryNumber("MOTion:DUE?");
            double elapsed = link.QueryNumber("MOTion:ELAPsed?");
            double remaining = link.QueryNumber("MOTion:REMaining?");
            double[] late = link.QueryNumbers("MOTion:LATeness?", 2);
            string[] fault = link.Query("MOTion:FAULt?").Split(',', 2);
            string faultText = fault[^1].Trim('"');
            bool hasProfile = ((long)link.QueryNumber("STATus:QUEStionable:CONDition?") & 1024) == 0;
            string name = hasProfile ? link.Query("PROFile:NAME?").Trim('"') : "";
            bool known = position < UnknownNumber;
            if (parsed.GetValue(json))
            {
                ConsoleOutput.WriteJson(w =>
                {
                    w.WriteString("controller", link.Identity);
                    w.WriteString("state", state);
                    w.WriteString("fault", faultText);
                    w.WriteString("rig", name);
                    w.WriteBoolean("position_known", known);
                    w.Number("position_steps", known ? position : double.NaN, 0);
                    w.Number("due_steps", known ? due : double.NaN, 0);
                    w.Number("elapsed_s", elapsed, 3);
                    w.Number("remaining_s", remaining, 3);
                    w.Number("lateness_worst_s", late[0], 6);
                    w.Number("lateness_mean_s", late[1], 6);
                });
                return ExitCode.Done;
            }

            var theme = new Theme(parsed.GetValue(night));
            Spectre.Console.Table table = theme.Facts(link.Identity);
            theme.Row(table, "state", fault[0] == "0" ? state.ToLowerInvariant() : $"FAULT: {faultText}");
            theme.Row(table, "rig", name.Length == 0 ? "no profile yet: upload one" : name);
            theme.Row(table, "position", known
                ? $"{position:0} steps (due {due:0})"
                : "unknown: rewind, or set the hinge to its start and give: hourhinge device at-start");
            theme.Row(table, "time", $"{elapsed / 60:0.0} min into the travel, {remaining / 60:0.0} min left");
            theme.Row(table, "lateness",
                $"worst {late[0] * 1000:0.0} ms, mean {late[1] * 1000:0.0} ms");
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
            IReadOnlyList<string> errors = link.DequeueErrors();
            foreach (string error in errors.DefaultIfEmpty("No errors."))
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
