namespace Hourhinge.App.Common;

/// <summary>A wrong option or file, told in one sentence.</summary>
internal sealed class InputException(string message) : Exception(message);
