// Ctrl-C, and the termination that a system asks for. A command that watches its token ends by itself and may say how
// to continue; any other is ended here, well within a second. A second Ctrl-C ends the program at once.

using System.Runtime.InteropServices;
using Hourhinge.App.Common;

namespace Hourhinge.App;

/// <summary>Listens for signals as long as it lives.</summary>
internal sealed class Interruption : IDisposable
{
    private static readonly TimeSpan _patience = TimeSpan.FromMilliseconds(500);

    private readonly CancellationTokenSource _source = new();
    private readonly List<PosixSignalRegistration> _signals = [];
    private readonly Lock _finishing = new();
    private int _requests;
    private bool _isFinished;

    public Interruption()
    {
        foreach (PosixSignal signal in new[] { PosixSignal.SIGINT, PosixSignal.SIGTERM })
        {
            _signals.Add(PosixSignalRegistration.Create(signal, Request));
        }
    }

    /// <summary>Cancelled by the first signal.</summary>
    public CancellationToken Token => _source.Token;

    /// <summary>True after a signal.</summary>
    public bool IsRequested => Volatile.Read(ref _requests) > 0;

    /// <summary>Removes unfinished files, says so once, and gives the exit code. A second caller waits until it has
    /// been said, but not for a terminal that takes no text.</summary>
    public int Finish()
    {
        if (_finishing.TryEnter(_patience))
        {
            try
            {
                FinishOnce();
            }
            finally
            {
                _finishing.Exit();
            }
        }

        return ExitCode.Interrupted;
    }

    /// <summary>Stops listening, but not after a signal: the next one would end the program its own way.</summary>
    public void Dispose()
    {
        if (!IsRequested)
        {
            _signals.ForEach(s => s.Dispose());
        }
    }

    private void FinishOnce()
    {
        if (_isFinished)
        {
            return;
        }

        _isFinished = true;
        AtomicFile.DiscardUnfinished();
        if (!Console.IsErrorRedirected)
        {
            Console.Error.Write("\e[0m\e[?25h"); // A progress bar has hidden the cursor.
        }

        ConsoleOutput.WriteError("stopped; nothing half-written is left.");
    }

    private void Request(PosixSignalContext context)
    {
        context.Cancel = true; // The default action would end the program without tidying up.
        if (Interlocked.Increment(ref _requests) > 1)
        {
            Environment.Exit(Finish());
        }

        new Thread(() =>
        {
            Thread.Sleep(_patience);
            Environment.Exit(Finish());
        })
        { IsBackground = true, Name = "interruption" }.Start();
        _source.Cancel();
    }
}
