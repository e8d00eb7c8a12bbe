// hourhinge device ...: query and command a controller from the laptop. The same SCPI works from any terminal.

using System.CommandLine;
using System.Globalization;
using Hourhinge.App.Common;
using Hourhinge.App.Link;

namespace Hourhinge.App.Device;

internal static class DeviceCommand
{
    public static Command Create() => new("device", "Query a controller, or send it a command.")
    {
        CreateStatus(),
        Simple("start", "Start tracking from the present position.", "INITiate", "Tracking."),
        Simple("resume", "Continue after a stop, at the position now due.", "INITiate:RESume",
            "Tracking, catching up with the sky."),
        Simple("stop", "Stop any motion; clears a fault.", "ABORt", "Stopped."),
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
            string position = link.Query("MOTion:POSition?");
            string due = link.Query("MOTion:DUE?");
            double elapsed = Seconds(link.Query("MOTion:ELAPsed?"));
            double remaining = Seconds(link.Query("MOTion:REMaining?"));
            string[] late = link.Query("MOTion:LATeness?").Split(',');
            string[] fault = link.Query("MOTion:FAULt?").Split(',', 2);
            bool hasProfile =
                (int.Parse(link.Query("STATus:QUEStionable:CONDition?"), CultureInfo.InvariantCulture) & 1024) == 0;
            string name = hasProfile ? link.Query("PROFile:NAME?").Trim('"') : "";
            bool known = !position.StartsWith("9.91E", StringComparison.OrdinalIgnoreCase);
            if (parsed.GetValue(json))
            {
                ConsoleOutput.WriteJson(w =>
                {
                    w.WriteString("controller", link.Identity);
                    w.WriteString("state", state);
                    w.WriteString("fault", fault[1].Trim('"'));
                    w.WriteString("rig", name);
                    w.WriteBoolean("position_known", known);
                    w.Number("position_steps", known ? Seconds(position) : double.NaN, 0);
                    w.Number("due_steps", known ? Seconds(due) : double.NaN, 0);
                    w.Number("elapsed_s", elapsed, 3);
                    w.Number("remaining_s", remaining, 3);
                    w.Number("lateness_worst_s", Seconds(late[0]), 6);
                    w.Number("lateness_mean_s", Seconds(late[1]), 6);
                });
                return ExitCode.Done;
            }

            var theme = new Theme(parsed.GetValue(night));
            Spectre.Console.Table table = theme.Facts(link.Identity);
            theme.Row(table, "state", fault[0] == "0" ? state.ToLowerInvariant() : $"FAULT: {fault[1].Trim('"')}");
            theme.Row(table, "rig", name.Length == 0 ? "no profile yet: upload one" : name);
            theme.Row(table, "position", known
                ? $"{position} steps (due {due})"
                : "unknown: rewind, or set the hinge to its start and give: hourhinge device at-start");
            theme.Row(table, "time", $"{elapsed / 60:0.0} min into the travel, {remaining / 60:0.0} min left");
            theme.Row(table, "lateness",
                $"worst {Seconds(late[0]) * 1000:0.0} ms, mean {Seconds(late[1]) * 1000:0.0} ms");
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
            int count = 0;
            foreach (string error in link.ErrorsFound)
            {
                ConsoleOutput.WriteLine(error);
                count++;
            }

            if (count == 0)
            {
                ConsoleOutput.WriteLine("No errors.");
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

    private static double Seconds(string text) => double.Parse(text, CultureInfo.InvariantCulture);
}
