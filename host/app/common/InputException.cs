namespace Hourhinge.App.Common;

/// <summary>A wrong option or file; the message is one sentence for the user. Exit code 2.</summary>
internal sealed class InputException(string message) : Exception(message);
