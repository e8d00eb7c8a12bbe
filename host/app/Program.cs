// The `hourhinge` command line: which commands there are, and what an error looks like. Each command is a file in
// Commands/; nothing is computed here.

using System.CommandLine;
using System.CommandLine.Parsing;
using Hourhinge.App.Commands;
using Hourhinge.App.Device;
using Hourhinge.App.Output;
using Hourhinge.Rig;

namespace Hourhinge.App;

/// <summary>Exit codes of every command.</summary>
internal static class ExitCode
{
    public const int Done = 0, AnswerIsNo = 1, BadInput = 2, DeviceTrouble = 3;
}

internal static class Program
{
    private static int Main(string[] args)
    {
        var root = new RootCommand("Hourhinge: a drive for a home-made hinge tracker, from its measurements to round stars.")
        {
            RigCommands.Create(),
            ProfileCommand.Create(),
            UploadCommand.Create(),
            DeviceCommands.Create(),
            RehearseCommand.Create(),
            BudgetCommand.Create(),
            NightCommand.Create(),
            FramesCommand.Create(),
            CalibrateCommand.Create(),
        };
        ParseResult parsed = root.Parse(args);
        if (parsed.Errors.Count > 0)
        {
            return Misused(parsed);
        }

        try
        {
            return parsed.Invoke(new InvocationConfiguration { EnableDefaultExceptionHandler = false });
        }
        catch (Exception e) when (e is RigFileException or InputException)
        {
            Say.Error(e.Message);
            return ExitCode.BadInput;
        }
        catch (DeviceException e)
        {
            Say.Error(e.Message);
            return ExitCode.DeviceTrouble;
        }
    }

    // The parser names .NET types, which say nothing at night; what it could not read is a number nearly always.
    private static string Plain(string message)
    {
        int at = message.IndexOf(" as expected type", StringComparison.Ordinal);
        return at < 0 ? message : message[..at] + ": must be a number";
    }

    private static int Misused(ParseResult parsed)
    {
        var path = new List<string>();
        for (CommandResult? at = parsed.CommandResult; at?.Command is not (null or RootCommand); at = at.Parent as CommandResult)
        {
            path.Insert(0, at.Command.Name);
        }

        string what = parsed.UnmatchedTokens.Count > 0
            ? $"'{parsed.UnmatchedTokens[0]}' is not known here"
            : Plain(parsed.Errors[0].Message.TrimEnd('.'));
        Say.Error($"{what}. See: {string.Join(' ', ["hourhinge", .. path, "--help"])}");
        return ExitCode.BadInput;
    }
}

/// <summary>A wrong option or file, told in one sentence.</summary>
internal sealed class InputException(string message) : Exception(message);
