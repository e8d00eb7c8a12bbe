namespace Hourhinge.App.Common;

/// <summary>Exit codes of every command. The README lists them.</summary>
internal static class ExitCode
{
    public const int Done = 0, AnswerIsNo = 1, BadInput = 2, DeviceError = 3;

    /// <summary>An unforeseen error: EX_SOFTWARE of BSD's sysexits.h.</summary>
    public const int InternalError = 70;

    /// <summary>Stopped by Ctrl-C: 128 plus the signal's number, as POSIX shells report it.</summary>
    public const int Interrupted = 130;
}
