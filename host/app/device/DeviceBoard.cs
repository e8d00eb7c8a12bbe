// hourhinge device board: the board's own limits, which no profile may exceed. Set once by the builder.

using System.CommandLine;
using Hourhinge.App.Common;
using Hourhinge.App.Link;

namespace Hourhinge.App.Device;

internal static class DeviceBoard
{
    public static Command Create()
    {
        RowOption[] limits =
        [
            new("--rate", ":BOARd:RATE"), new("--travel", ":BOARd:TRAVel"), new("--home", ":BOARd:SWITch:HOME"),
            new("--end", ":BOARd:SWITch:END"),
        ];
        Option<string> to = SharedOptions.To();
        var command = new Command("board", "Show or set the board's own limits, which no profile may exceed.") { to };
        foreach (RowOption limit in limits)
        {
            command.Add(limit.Option);
        }

        command.SetAction(parsed =>
        {
            string[] changes = [.. limits.Select(s => s.Read(parsed) is { } value ? $"{s.Header} {value}" : "")
                .Where(c => c.Length > 0)];
            using ControllerLink link = ControllerLink.Open(parsed.GetRequiredValue(to));
            foreach (string change in changes)
            {
                link.Command(change, $"`board` ({change})");
            }

            if (changes.Length > 0)
            {
                link.Command("BOARd:SAVE", "`board`");
            }

            string[] now = ScpiAnswer.Split(
                link.Query("BOARd:RATE?;TRAVel?;SWITch:HOME?;END?;:BOARd:CHANged?"), ';');
            if (now.Length != 5)
            {
                throw new DeviceException("the controller's answers are damaged.");
            }

            ConsoleOutput.WriteLine($"At most {now[0]} counts/s and {now[1]} counts of travel; home switch "
                + $"{Read(now[2])}, end switch {Read(now[3])}.");
            if (now[4] != "0")
            {
                ConsoleOutput.WriteRemark("Edited limits wait and are not in force; `device reset` discards them.");
            }

            return ExitCode.Done;
        });
        return command;
    }

    private static string Read(string flag) => flag == "1" ? "always read" : "read when the profile has one";
}
