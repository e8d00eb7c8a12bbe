// hourhinge device supply, keep-alive: the pack's voltage, and the load that keeps a power bank awake.

using System.CommandLine;
using Hourhinge.App.Common;
using Hourhinge.App.Link;
using Hourhinge.Firmware.Protocol;

namespace Hourhinge.App.Device;

internal static class DeviceSupply
{
    public static Command Create()
    {
        Option<string> to = SharedOptions.To();
        var command = new Command("supply", "The pack's voltage.") { to };
        command.SetAction(parsed =>
        {
            using ControllerLink link = ControllerLink.Open(parsed.GetRequiredValue(to));
            double volts = ScpiAnswer.Number(link.Query("SUPPly:VOLTage?"));
            ConsoleOutput.WriteLine(double.IsNaN(volts) ? "This board has no voltmeter." : $"Supply {volts:0.000} V.");
            return double.IsNaN(volts) ? ExitCode.AnswerIsNo : ExitCode.Done;
        });
        return command;
    }

    public static Command CreateKeepAlive()
    {
        var load = new RowOption("--load", SupplyCommands.LoadTime,
            "How long the load is on each time; 0 switches it off");
        var every = new RowOption("--every", SupplyCommands.LoadPeriod, "Time from one load to the next");
        Option<string> to = SharedOptions.To();
        var command = new Command("keep-alive", "Show or set the load that keeps a power bank awake.")
        {
            load.Option, every.Option, to,
        };
        command.SetAction(parsed =>
        {
            string? on = load.Read(parsed);
            string? period = every.Read(parsed);
            using ControllerLink link = ControllerLink.Open(parsed.GetRequiredValue(to));
            double[] now = link.QueryNumbers("SUPPly:KEEPalive?", 2);
            if (on != null || period != null)
            {
                link.Command($"SUPPly:KEEPalive {on ?? $"{now[0]:0.000}"},{period ?? $"{now[1]:0.000}"}",
                    "`keep-alive`");
                now = link.QueryNumbers("SUPPly:KEEPalive?", 2);
            }

            ConsoleOutput.WriteLine(now[0] == 0 ? "The keep-alive load is off."
                : $"The load is on for {now[0]} s every {now[1]} s.");
            return ExitCode.Done;
        });
        return command;
    }
}
