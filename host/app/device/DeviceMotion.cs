// hourhinge device jog, at, clock: move by hand, declare a position, trim the controller's clock.

using System.CommandLine;
using System.Globalization;
using Hourhinge.App.Common;
using Hourhinge.App.Link;
using Hourhinge.Firmware.Scpi;
using Hourhinge.Rig;
using Hourhinge.SharedMath.Rig;

namespace Hourhinge.App.Device;

internal static class DeviceMotion
{
    private const string Jog = ":MOTion:JOG";
    private const string Declare = ":MOTion:POSition:DECLare";
    private const int PollMs = 250;

    public static Command CreateJog()
    {
        NumberRange range = ProtocolRows.RangeOf(Jog);
        var by = new Argument<string>("BY")
        {
            Description = $"Drive counts, {range.Min} to {range.Max}, or a length of rod such as 2mm; positive is the "
                + "tracking direction.",
        };
        var wait = new Option<bool>("--wait") { Description = "Wait until the motor stands." };
        Option<string> to = SharedOptions.To();
        var command = new Command("jog", "Move the hinge by a few steps at the pull-in speed.") { by, wait, to };
        command.SetAction((parsed, cancel) =>
        {
            string typed = parsed.GetRequiredValue(by);
            double? counts = Number(typed);
            double? millimetres = counts == null ? Millimetres(typed) : null;
            if (counts == null && millimetres == null)
            {
                throw new InputException($"BY {typed}: must be a whole number of drive counts, {range.Min} to "
                    + $"{range.Max}, or a length of rod such as 2mm or 1/8in.");
            }

            using ControllerLink link = ControllerLink.Open(parsed.GetRequiredValue(to));
            counts ??= Math.Round(millimetres!.Value * CountsPerMm(link));
            if (!(counts >= range.Min && counts <= range.Max) || counts != Math.Floor(counts.Value))
            {
                throw new InputException(
                    $"BY {typed}: must be a whole number of drive counts, {range.Min} to {range.Max}"
                    + (millimetres == null ? "." : $"; this length is {counts:0} counts."));
            }

            link.Command($"MOTion:JOG {counts:0}", "`jog`");
            if (parsed.GetValue(wait))
            {
                WaitUntilStanding(link, cancel);
            }

            ConsoleOutput.WriteLine(parsed.GetValue(wait)
                ? $"Moved by {counts:0} counts; position {Position(link)}."
                : $"Moving by {counts:0} counts; `device stop` stops it.");
            return Task.FromResult(ExitCode.Done);
        });
        return command;
    }

    public static Command CreateAt()
    {
        NumberRange range = ProtocolRows.RangeOf(Declare);
        var counts = new Argument<string>("COUNTS") { Description = "Drive counts from the start of the travel." };
        Option<string> to = SharedOptions.To();
        var command = new Command("at", "Declare where the hinge stands, in counts from the start.") { counts, to };
        command.SetAction(parsed =>
        {
            string typed = parsed.GetRequiredValue(counts);
            if (Number(typed) is not { } value || !(value >= range.Min && value <= range.Max)
                || value != Math.Floor(value))
            {
                throw new InputException(
                    $"COUNTS {typed}: must be a whole number, {range.Min} to {range.Max}; the travel's end may come "
                    + "first.");
            }

            using ControllerLink link = ControllerLink.Open(parsed.GetRequiredValue(to));
            link.Command($"MOTion:POSition:DECLare {value:0}", "`at`");
            ConsoleOutput.WriteLine($"Position is {value:0}.");
            return ExitCode.Done;
        });
        return command;
    }

    public static Command CreateClock()
    {
        var trim = new RowOption("--trim", ":CALibration:CLOCk");
        Option<string> to = SharedOptions.To();
        var command = new Command("clock", "Show or set the trim of the controller's clock.") { trim.Option, to };
        command.SetAction(parsed =>
        {
            using ControllerLink link = ControllerLink.Open(parsed.GetRequiredValue(to));
            if (trim.Read(parsed) is { } value)
            {
                link.Command($"{trim.Header} {value}", "`clock`");
                ConsoleOutput.WriteRemark(
                    "Write the same value into the rig file ([clock] trim_ppm): the next upload replaces it.");
            }

            string now = link.Query(trim.Header + "?");
            ConsoleOutput.WriteLine($"Clock trim {ScpiAnswer.Number(now).ToString(CultureInfo.InvariantCulture)} ppm.");
            return ExitCode.Done;
        });
        return command;
    }

    private static double? Number(string typed) =>
        QuantityParser.TryParse(typed, "counts", out double value, out _) ? value : null;

    private static double? Millimetres(string typed) =>
        QuantityParser.TryParse(typed, "mm", out double value, out _) ? value : null;

    // From the rig that the stored profile was made of.
    private static double CountsPerMm(ControllerLink link)
    {
        if (link.Query("PROFile:SLOT?").StartsWith('-'))
        {
            throw new DeviceException("a length needs a profile on the controller: upload one, or give counts.");
        }

        if (link.Query("RIG:CHANged?") != "0")
        {
            throw new DeviceException(
                "a length is not certain while an edited rig waits: apply it or discard it with `device edit "
                + "--cancel`, or give counts.");
        }

        RigParameters rig = ControllerRig.Read(link);
        long[] v = rig.Values;
        return (double)v[RigParameters.GearNumerator] / v[RigParameters.GearDenominator]
            * v[RigParameters.Steps] * v[RigParameters.Microsteps] * v[RigParameters.PitchDivisor]
            / rig.InUnits(RigParameters.Pitch);
    }

    private static void WaitUntilStanding(ControllerLink link, CancellationToken cancel)
    {
        while (link.Query("MOTion:STATe?") is "JOGGING" or "REWINDING")
        {
            if (cancel.WaitHandle.WaitOne(PollMs))
            {
                link.Send("ABORt");
                cancel.ThrowIfCancellationRequested();
            }
        }
    }

    private static string Position(ControllerLink link)
    {
        double position = ScpiAnswer.Number(link.Query("MOTion:POSition?"));
        return double.IsNaN(position) ? "unknown" : $"{position:0}";
    }
}
