namespace Hourhinge.Rig;

/// <summary>What is wrong with a rig file, in one sentence that names the key, the value, the allowed range and the
/// place.</summary>
public sealed class RigFileException : Exception
{
    /// <summary>A fault of the file as a whole.</summary>
    public RigFileException(string message)
        : base(message)
    {
    }

    /// <summary>A fault at a place; line and column count from 1.</summary>
    public RigFileException(string file, int line, int column, string message)
        : base($"{file}:{line}:{column}: {message}")
    {
    }
}
