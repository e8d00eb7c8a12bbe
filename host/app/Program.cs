// The `hourhinge` command line: which commands there are, and what an error looks like. Each command is a file in
// Commands/; nothing is computed here.

using System.CommandLine;
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
        };
        ParseResult parsed = root.Parse(args);
        if (parsed.Errors.Count > 0)
        {
            string command = string.Join(' ', args.TakeWhile(a => !a.StartsWith('-')).Take(2).Where(a => !a.Contains('.')));
            Say.Error($"{parsed.Errors[0].Message.TrimEnd('.')}. See: hourhinge {command} --help".Replace("  ", " ", StringComparison.Ordinal));
            return ExitCode.BadInput;
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
}

/// <summary>A wrong option or file, told in one sentence.</summary>
internal sealed class InputException(string message) : Exception(message);
