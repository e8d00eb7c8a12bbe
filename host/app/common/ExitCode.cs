namespace Hourhinge.App.Common;

/// <summary>Exit codes of every command. The README lists them.</summary>
internal static class ExitCode
{
    public const int Done = 0, AnswerIsNo = 1, BadInput = 2, DeviceError = 3;
}
