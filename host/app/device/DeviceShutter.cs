// hourhinge device shutter, dither: the program of the remote shutter.

using System.CommandLine;
using Hourhinge.App.Common;
using Hourhinge.App.Link;

namespace Hourhinge.App.Device;

internal static class DeviceShutter
{
    public static Command Create()
    {
        RowOption[] settings =
        [
            new("--count", ":SHUTter:COUNt"), new("--exposure", ":SHUTter:EXPosure"), new("--gap", ":SHUTter:GAP"),
            new("--settle", ":SHUTter:SETTle"), new("--dither", ":SHUTter:DITHer"), new("--auto", ":SHUTter:AUTO"),
        ];
        var save = new Option<bool>("--save") { Description = "Store the settings with the profile." };
        Option<string> to = SharedOptions.To();
        var command = new Command("shutter", "Show or set the shutter program; start or stop it.") { save, to };
        foreach (RowOption setting in settings)
        {
            command.Add(setting.Option);
        }

        command.Add(Action("start", "Start the shutter program; the hinge must be tracking.", "SHUTter:STARt"));
        command.Add(Action("stop", "End the shutter program and release the shutter.", "SHUTter:STOP"));
        command.SetAction(parsed =>
        {
            string[] changes = [.. settings.Select(s => s.Read(parsed) is { } value ? $"{s.Header} {value}" : "")
                .Where(c => c.Length > 0)];
            using ControllerLink link = ControllerLink.Open(parsed.GetRequiredValue(to));
            foreach (string change in changes)
            {
                link.Command(change, $"`shutter` ({change})");
            }

            if (parsed.GetValue(save))
            {
                link.Command("SHUTter:SAVE", "`shutter --save`");
            }

            Show(link);
            if (changes.Length > 0 && !parsed.GetValue(save))
            {
                ConsoleOutput.WriteRemark("In force until power is cut or a profile comes; --save keeps them.");
            }

            return ExitCode.Done;
        });
        return command;
    }

    public static Command CreateDither()
    {
        var size = new RowOption("--size", ":SHUTter:DITHer");
        Option<string> to = SharedOptions.To();
        var command = new Command("dither", "Show or set the offset between exposures, 0 for none.")
        {
            size.Option, to,
        };
        command.SetAction(parsed =>
        {
            using ControllerLink link = ControllerLink.Open(parsed.GetRequiredValue(to));
            if (size.Read(parsed) is { } value)
            {
                link.Command($"{size.Header} {value}", "`dither`");
            }

            ConsoleOutput.WriteLine($"Dither up to {ScpiAnswer.Number(link.Query(size.Header + "?"))} arcsec between "
                + "exposures, along the tracking direction.");
            return ExitCode.Done;
        });
        return command;
    }

    private static Command Action(string name, string description, string header)
    {
        Option<string> to = SharedOptions.To();
        var command = new Command(name, description) { to };
        command.SetAction(parsed =>
        {
            using ControllerLink link = ControllerLink.Open(parsed.GetRequiredValue(to));
            link.Command(header, $"`shutter {name}`");
            Show(link);
            return ExitCode.Done;
        });
        return command;
    }

    private static void Show(ControllerLink link)
    {
        string[] answers =
            ScpiAnswer.Split(link.Query("SHUTter:COUNt?;EXPosure?;GAP?;SETTle?;DITHer?;AUTO?;STATe?;TAKen?"), ';');
        if (answers.Length != 8)
        {
            throw new DeviceException("the controller's answers are damaged.");
        }

        double[] n = [.. answers[..6].Select(ScpiAnswer.Number)];
        string[] state = ScpiAnswer.Split(answers[6], ',');
        ConsoleOutput.WriteLine($"Program: {n[0]} exposures of {n[1]} s, gap {n[2]} s, settling {n[3]} s, dither "
            + $"{(n[4] == 0 ? "none" : $"up to {n[4]} arcsec")}; starts "
            + $"{(n[5] == 1 ? "with tracking" : "by command")}.");
        string reason = state.Length > 1 ? ScpiAnswer.Text(state[1]) : "";
        ConsoleOutput.WriteLine($"Shutter {state[0].ToLowerInvariant()}, {answers[7]} taken"
            + $"{(reason.Length > 0 ? $": {reason}" : "")}.");
    }
}
