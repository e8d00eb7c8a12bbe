// The `hourhinge` command line: the list of commands, and how errors are reported. Each command is a folder beside this
// file.

using System.CommandLine;
using Hourhinge.App.Budget;
using Hourhinge.App.Calibrate;
using Hourhinge.App.Common;
using Hourhinge.App.Completion;
using Hourhinge.App.Design;
using Hourhinge.App.Device;
using Hourhinge.App.Field;
using Hourhinge.App.Frames;
using Hourhinge.App.Link;
using Hourhinge.App.Night;
using Hourhinge.App.Profile;
using Hourhinge.App.Rehearse;
using Hourhinge.App.Rig;
using Hourhinge.App.Sheet;
using Hourhinge.App.Upload;
using Hourhinge.Rig;

namespace Hourhinge.App;

internal static class Program
{
    private static int Main(string[] args)
    {
        LastResort.CoverOtherThreads(args);
        using var interruption = new Interruption();
        int code = Run(args, interruption.Token);
        return interruption.IsRequested ? interruption.Finish() : code;
    }

    /// <summary>The commands and their options.</summary>
    internal static RootCommand CreateRoot()
    {
        var root = new RootCommand(
            "Hourhinge: a drive for a home-made hinge tracker, from its measurements to round stars.")
        {
            DesignCommand.Create(),
            RigCommand.Create(),
            ProfileCommand.Create(),
            SheetCommand.Create(),
            UploadCommand.Create(),
            DeviceCommand.Create(),
            RehearseCommand.Create(),
            BudgetCommand.Create(),
            NightCommand.Create(),
            FramesCommand.Create(),
            FieldCommand.Create(),
            CalibrateCommand.Create(),
        };
        root.Subcommands.Add(CompletionCommand.Create(root));
        return root;
    }

    /// <summary>Parses a command line: no response files, no bundled letters.</summary>
    internal static ParseResult Parse(RootCommand root, string[] args) =>
        root.Parse(args, new ParserConfiguration { EnablePosixBundling = false, ResponseFileTokenReplacer = null });

    /// <summary>Runs one command line; the exit code. Throws nothing.</summary>
    internal static int Run(string[] args, CancellationToken cancel)
    {
        ConsoleOutput.IsNight = args.Contains("--night");
        try
        {
            ParseResult parsed = Parse(CreateRoot(), args);
            if (UsageError.Of(parsed) is { } sentence)
            {
                ConsoleOutput.WriteError(sentence);
                return ExitCode.BadInput;
            }

            // Ctrl-C is Interruption's; the library's own handling would wait for the command.
            return parsed.InvokeAsync(new InvocationConfiguration
            {
                EnableDefaultExceptionHandler = false,
                ProcessTerminationTimeout = null,
                Output = Console.Out,
                Error = Console.Error,
            }, cancel).GetAwaiter().GetResult();
        }
        catch (Exception e)
        {
            return Report(e, args);
        }
    }

    private static int Report(Exception e, string[] args)
    {
        // Work on several threads wraps what one of them threw.
        Exception cause = e is AggregateException several ? several.Flatten().InnerExceptions[0] : e;
        switch (cause)
        {
            case OperationCanceledException:
                return ExitCode.Interrupted;
            case RigFileException or InputException:
                ConsoleOutput.WriteError(cause.Message);
                return ExitCode.BadInput;
            case DeviceException:
                ConsoleOutput.WriteError(cause.Message);
                return ExitCode.DeviceError;
            case IOException or UnauthorizedAccessException:
                // Files are named where they are written: what is left is standard output.
                ConsoleOutput.WriteError($"the output cannot be written: {AtomicFile.Reason(cause)}.");
                return ExitCode.BadInput;
            default:
                return LastResort.Report(e, args);
        }
    }
}
