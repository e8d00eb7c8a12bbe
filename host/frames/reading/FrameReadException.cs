// The one exception that the file readers throw on purpose; FrameReader turns it into a sentence.
namespace Hourhinge.Frames.Reading;

/// <summary>A file that cannot be used, with the reason as one sentence.</summary>
public sealed class FrameReadException : Exception
{
    /// <summary>Creates a refusal without a reason.</summary>
    public FrameReadException()
    {
    }

    /// <summary>Creates a refusal with its reason.</summary>
    public FrameReadException(string message)
        : base(message)
    {
    }

    /// <summary>Creates a refusal with its reason and cause.</summary>
    public FrameReadException(string message, Exception innerException)
        : base(message, innerException)
    {
    }
}
