// hourhinge device send, commands, self-test: the protocol itself, for everything that has no verb of its own.

using System.CommandLine;
using Hourhinge.App.Common;
using Hourhinge.App.Link;

namespace Hourhinge.App.Device;

internal static class DeviceRaw
{
    public static Command CreateSend()
    {
        var message = new Argument<string>("MESSAGE")
        { Description = "A message of firmware/PROTOCOL.md, such as \"STAT:OPER:COND?\"." };
        Option<string> to = SharedOptions.To();
        var command = new Command("send", "Send one message of the protocol and print the answer.") { message, to };
        command.SetAction(parsed =>
        {
            string text = parsed.GetRequiredValue(message);
            if (text.Trim().Length == 0 || text.Length > 4000 || text.Any(c => c is < ' ' or > '~'))
            {
                throw new InputException("MESSAGE: must be one line of 1 to 4000 printable ASCII characters.");
            }

            using ControllerLink link = ControllerLink.Open(parsed.GetRequiredValue(to));
            foreach (string line in link.Exchange(text, "the message"))
            {
                ConsoleOutput.WriteLine(line);
            }

            return ExitCode.Done;
        });
        return command;
    }

    public static Command CreateCommands()
    {
        Option<string> to = SharedOptions.To();
        var command = new Command("commands", "List the commands that this controller understands.") { to };
        command.SetAction(parsed =>
        {
            using ControllerLink link = ControllerLink.Open(parsed.GetRequiredValue(to));
            Console.Write(VisibleText.Of(
                System.Text.Encoding.ASCII.GetString(link.QueryBlock("SYSTem:HELP:HEADers?")), keepLines: true));
            return ExitCode.Done;
        });
        return command;
    }

    public static Command CreateSelfTest()
    {
        Option<string> to = SharedOptions.To();
        var command = new Command("self-test", "Ask the controller whether it and its stored data are in order.")
        {
            to,
        };
        command.SetAction(parsed =>
        {
            using ControllerLink link = ControllerLink.Open(parsed.GetRequiredValue(to));
            string result = link.Query("*TST?");
            ConsoleOutput.WriteLine(result switch
            {
                "0" => "Passed.",
                "1" => "Failed: the controller is in fault; `device status` says which.",
                "2" => "Failed: stored data are damaged; upload again.",
                "3" => "Failed: the controller is in fault, and stored data are damaged.",
                _ => throw new DeviceException($"the controller answered \"{result}\" to *TST?."),
            });
            return result == "0" ? ExitCode.Done : ExitCode.AnswerIsNo;
        });
        return command;
    }
}
