namespace Hourhinge.Calibration;

/// <summary>Whether to act on a result.</summary>
/// <param name="Reasons">Why not, one sentence each; empty where it can be trusted.</param>
public sealed record Assessment(IReadOnlyList<string> Reasons)
{
    /// <summary>True where nothing speaks against it.</summary>
    public bool Trusted => Reasons.Count == 0;
}
