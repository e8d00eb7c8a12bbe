namespace Hourhinge.App.Link;

/// <summary>The controller cannot be reached, closes the connection, or reports an error. Exit code 3.</summary>
internal class DeviceException(string message) : Exception(message);

/// <summary>The connection broke or no answer came: what the controller did last is not known.</summary>
internal sealed class LinkLostException(string message) : DeviceException(message);
