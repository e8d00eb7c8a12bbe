// How far the reading of many frames has come, for whoever shows it.
namespace Hourhinge.Frames.Reading;

/// <summary>How far the work over many frames has come.</summary>
/// <param name="Done">Frames done, remembered ones included.</param>
/// <param name="Total">All frames.</param>
/// <param name="Latest">The frame just done.</param>
public readonly record struct GradingProgress(int Done, int Total, string Latest);
