namespace Hourhinge.Recognition;

/// <summary>Recognises which part of the sky a frame shows.</summary>
public static class FieldRecognizer
{
    /// <summary>Finds the field.</summary>
    /// <param name="stars">Sources of the frame, in any order; false ones are expected.</param>
    /// <param name="width">Columns of the frame.</param>
    /// <param name="height">Rows of the frame.</param>
    /// <param name="hint">What is known; null for nothing.</param>
    /// <returns>Null where no field is accepted.</returns>
    public static RecognizedField? Recognize(
        IReadOnlyList<ImageStar> stars, int width, int height, FieldHint? hint = null)
    {
        _ = (stars, width, height, hint);
        return null;
    }
}
