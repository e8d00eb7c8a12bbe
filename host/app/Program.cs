// The `hourhinge` command line: the list of commands, and how errors are reported. Each command is a folder beside this
// file.

using System.CommandLine;
using System.CommandLine.Parsing;
using Hourhinge.App.Budget;
using Hourhinge.App.Calibrate;
using Hourhinge.App.Common;
using Hourhinge.App.Completion;
using Hourhinge.App.Device;
using Hourhinge.App.Frames;
using Hourhinge.App.Link;
using Hourhinge.App.Night;
using Hourhinge.App.Profile;
using Hourhinge.App.Rehearse;
using Hourhinge.App.Rig;
using Hourhinge.App.Upload;
using Hourhinge.Rig;

namespace Hourhinge.App;

internal static class Program
{
    private static int Main(string[] args)
    {
        var root =
            new RootCommand("Hourhinge: a drive for a home-made hinge tracker, from its measurements to round stars.")
        {
            RigCommand.Create(),
            ProfileCommand.Create(),
            UploadCommand.Create(),
            DeviceCommand.Create(),
            RehearseCommand.Create(),
            BudgetCommand.Create(),
            NightCommand.Create(),
            FramesCommand.Create(),
            CalibrateCommand.Create(),
        };
        root.Subcommands.Add(CompletionCommand.Create(root));
        ParseResult parsed = root.Parse(args);
        if (parsed.Errors.Count > 0)
        {
            return ReportUsageError(parsed);
        }

        try
        {
            return parsed.Invoke(new InvocationConfiguration { EnableDefaultExceptionHandler = false });
        }
        catch (Exception e) when (e is RigFileException or InputException)
        {
            ConsoleOutput.WriteError(e.Message);
            return ExitCode.BadInput;
        }
        catch (DeviceException e)
        {
            ConsoleOutput.WriteError(e.Message);
            return ExitCode.DeviceError;
        }
    }

    // The parser's messages name .NET types. Nearly all options that it can fail to parse are numbers.
    private static string WithoutTypeName(string message)
    {
        int at = message.IndexOf(" as expected type", StringComparison.Ordinal);
        return at < 0 ? message : message[..at] + ": must be a number";
    }

    private static int ReportUsageError(ParseResult parsed)
    {
        var path = new List<string>();
        for (CommandResult? at = parsed.CommandResult; at?.Command is not (null or RootCommand);
            at = at.Parent as CommandResult)
        {
            path.Insert(0, at.Command.Name);
        }

        string what = parsed.UnmatchedTokens.Count > 0
            ? $"'{parsed.UnmatchedTokens[0]}' is not known here"
            : WithoutTypeName(parsed.Errors[0].Message.TrimEnd('.'));
        ConsoleOutput.WriteError($"{what}. See: {string.Join(' ', ["hourhinge", .. path, "--help"])}");
        return ExitCode.BadInput;
    }
}
