namespace Hourhinge.App.Link;

/// <summary>How long the host waits for a controller.</summary>
internal sealed record LinkTiming
{
    /// <summary>For the complete answer to a request, ms. The longest takes 0.4 s at 115200 baud, and flash may be
    /// slow.</summary>
    public int RequestMs { get; init; } = 5000;

    /// <summary>For the first sign of a controller, ms.</summary>
    public int FirstRequestMs { get; init; } = 1500;

    /// <summary>For the confirmation of an emergency stop, ms.</summary>
    public int StopRequestMs { get; init; } = 1000;

    /// <summary>Longer than the pause after which the controller discards an unfinished block, ms.</summary>
    public int BlockGapMs { get; init; } = 700;
}
