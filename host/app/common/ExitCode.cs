namespace Hourhinge.App.Common;

/// <summary>Exit codes of every command.</summary>
internal static class ExitCode
{
    public const int Done = 0, AnswerIsNo = 1, BadInput = 2, DeviceTrouble = 3;
}
