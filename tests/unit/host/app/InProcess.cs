using Hourhinge.App;
using Hourhinge.App.Common;
using Spectre.Console;

namespace Hourhinge.Tests.Host.App;

/// <summary>
/// Runs the program inside the test's process, a hundred times faster than as a process of its own. The console belongs
/// to the process: only tests of the collection <see cref="Name"/> may use this.
/// </summary>
[CollectionDefinition(Name, DisableParallelization = true)]
public sealed class InProcess
{
    /// <summary>The collection's name.</summary>
    public const string Name = "program in process";

    /// <summary>Runs a command line; exit code, standard output, standard error.</summary>
    internal static (int Code, string Out, string Error) Run(params string[] args)
    {
        (TextWriter outBefore, TextWriter errorBefore, TextReader inBefore) = (Console.Out, Console.Error, Console.In);
        Func<Stream> bytesBefore = ConsoleOutput.OpenBytes;
        IAnsiConsole ansiBefore = AnsiConsole.Console;
        using var output = new StringWriter();
        using var error = new StringWriter();
        try
        {
            Console.SetOut(output);
            Console.SetError(error);
            Console.SetIn(TextReader.Null);
            AnsiConsole.Console = AnsiConsole.Create(new AnsiConsoleSettings
            {
                Ansi = AnsiSupport.No,
                Interactive = InteractionSupport.No,
                Out = new AnsiConsoleOutput(output),
            });
            ConsoleOutput.OpenBytes = () => new TextStream(output);
            int code = Program.Run(args, CancellationToken.None);
            return (code, output.ToString(), error.ToString());
        }
        finally
        {
            Console.SetOut(outBefore);
            Console.SetError(errorBefore);
            Console.SetIn(inBefore);
            AnsiConsole.Console = ansiBefore;
            ConsoleOutput.OpenBytes = bytesBefore;
        }
    }

    private sealed class TextStream(TextWriter target) : MemoryStream
    {
        protected override void Dispose(bool disposing)
        {
            target.Write(System.Text.Encoding.UTF8.GetString(ToArray()));
            base.Dispose(disposing);
        }
    }
}
