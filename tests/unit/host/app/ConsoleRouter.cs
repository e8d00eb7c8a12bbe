using System.Diagnostics.CodeAnalysis;
using System.Text;
using Hourhinge.App;
using Hourhinge.App.Common;
using Spectre.Console;
using Spectre.Console.Rendering;

namespace Hourhinge.Tests.Host.App;

/// <summary>
/// Runs the program inside the test's process, without the start of a process and with code that is compiled already.
/// The console belongs to the process: what a run writes is routed to that run, on whichever thread it writes.
/// </summary>
internal sealed class ConsoleRouter : IDisposable
{
    private static readonly AsyncLocal<ConsoleRouter?> _current = new();

    private readonly StringWriter _output = new();
    private readonly StringWriter _error = new();
    private readonly IAnsiConsole _ansi;

    static ConsoleRouter()
    {
        TextWriter output = Console.Out;
        TextWriter error = Console.Error;
        TextReader input = Console.In;
        IAnsiConsole ansi = AnsiConsole.Console;
        Func<Stream> bytes = ConsoleOutput.OpenBytes;
        Console.SetOut(new Writer(() => _current.Value?._output ?? output));
        Console.SetError(new Writer(() => _current.Value?._error ?? error));
        Console.SetIn(new Reader(() => _current.Value == null ? input : TextReader.Null));
        AnsiConsole.Console = new Ansi(() => _current.Value?._ansi ?? ansi);
        ConsoleOutput.OpenBytes = () => _current.Value is { } run ? new TextStream(run._output) : bytes();
    }

    private ConsoleRouter() => _ansi = AnsiConsole.Create(new AnsiConsoleSettings
    {
        Ansi = AnsiSupport.No,
        Interactive = InteractionSupport.No,
        Out = new AnsiConsoleOutput(_output),
    });

    /// <summary>Runs a command line; exit code, standard output, standard error.</summary>
    public static (int Code, string Out, string Error) Run(string[] args)
    {
        int code = 0;
        (string output, string error) = Capture(() => code = Program.Run(args, CancellationToken.None));
        return (code, output, error);
    }

    /// <summary>What an action writes to standard output and to standard error.</summary>
    public static (string Out, string Error) Capture(Action action)
    {
        using var run = new ConsoleRouter();
        ConsoleRouter? before = _current.Value;
        _current.Value = run;
        try
        {
            action();
        }
        finally
        {
            _current.Value = before;
        }

        return (run._output.ToString(), run._error.ToString());
    }

    public void Dispose()
    {
        _output.Dispose();
        _error.Dispose();
    }

    private sealed class Writer(Func<TextWriter> target) : TextWriter
    {
        public override Encoding Encoding => Encoding.UTF8;

        [AllowNull]
        public override string NewLine => "\n";

        public override void Write(char value) => target().Write(value);

        public override void Write(string? value) => target().Write(value);

        public override void Write(char[] buffer, int index, int count) => target().Write(buffer, index, count);

        public override void Write(ReadOnlySpan<char> buffer) => target().Write(buffer);
    }

    private sealed class Reader(Func<TextReader> source) : TextReader
    {
        public override int Peek() => source().Peek();

        public override int Read() => source().Read();

        public override string? ReadLine() => source().ReadLine();
    }

    private sealed class Ansi(Func<IAnsiConsole> target) : IAnsiConsole
    {
        public Spectre.Console.Profile Profile => target().Profile;

        public IAnsiConsoleCursor Cursor => target().Cursor;

        public IAnsiConsoleInput Input => target().Input;

        public IExclusivityMode ExclusivityMode => target().ExclusivityMode;

        public RenderPipeline Pipeline => target().Pipeline;

        public void Clear(bool home) => target().Clear(home);

        public void Write(IRenderable renderable) => target().Write(renderable);

        public void WriteAnsi(Action<AnsiWriter> action) => target().WriteAnsi(action);
    }

    private sealed class TextStream(TextWriter target) : MemoryStream
    {
        protected override void Dispose(bool disposing)
        {
            target.Write(Encoding.UTF8.GetString(ToArray()));
            base.Dispose(disposing);
        }
    }
}
