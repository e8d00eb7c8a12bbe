// The night cut into runs that fit the hinge's travel, with the rewinds between them.
using Hourhinge.Sky.Time;

namespace Hourhinge.Sky.Planning;

/// <summary>Limits of one run of the hinge and the camera.</summary>
/// <param name="TravelMinutes">Tracking time from rewound to the end stop.</param>
/// <param name="RewindMinutes">A full rewind with re-framing.</param>
/// <param name="ExposureSeconds">One frame.</param>
/// <param name="GapSeconds">Between two frames.</param>
public readonly record struct RunPlan(
    double TravelMinutes, double RewindMinutes, double ExposureSeconds, double GapSeconds)
{
    /// <summary>Complete frames in a time of tracking.</summary>
    public int FramesIn(double minutes) =>
        Math.Max(0, (int)Math.Floor((((minutes * 60) + GapSeconds) / (ExposureSeconds + GapSeconds)) + 1e-9));

    internal void Check()
    {
        CheckRange(TravelMinutes, "travel", "minutes", 0.1, 1440);
        CheckRange(RewindMinutes, "rewind", "minutes", 0, 600);
        CheckRange(ExposureSeconds, "exposure", "seconds", 0.001, 36000);
        CheckRange(GapSeconds, "gap", "seconds", 0, 3600);
        if (ExposureSeconds > TravelMinutes * 60)
        {
            throw new ArgumentException($"The exposure of {ExposureSeconds:G6} s does not fit the travel of "
                + $"{TravelMinutes * 60:G6} s: not one frame can be finished.");
        }
    }

    private static void CheckRange(double value, string name, string unit, double min, double max)
    {
        if (!(value >= min && value <= max))
        {
            throw new ArgumentException($"The {name} of {value:G6} {unit} must lie between {min} and {max} {unit}.");
        }
    }
}

/// <summary>One run of the hinge.</summary>
/// <param name="Start">First frame begins.</param>
/// <param name="End">Last frame ends.</param>
/// <param name="Frames">How many frames.</param>
/// <param name="RewindUntil">Ready again; null after the last run.</param>
public readonly record struct TrackingRun(Instant Start, Instant End, int Frames, Instant? RewindUntil);

/// <summary>Runs and rewinds over one or more useful windows.</summary>
public sealed record RunTimetable(IReadOnlyList<TrackingRun> Runs, RunPlan Plan)
{
    public int Frames => Runs.Sum(r => r.Frames);

    /// <summary>Total exposure in hours: frames times exposure, without the gaps.</summary>
    public double ExposureHours => Frames * Plan.ExposureSeconds / 3600;

    /// <summary>Fills the windows; the hinge starts each window rewound.</summary>
    /// <exception cref="ArgumentException">The plan is impossible; the message names the value.</exception>
    public static RunTimetable Fill(IEnumerable<TimeWindow> windows, RunPlan plan)
    {
        ArgumentNullException.ThrowIfNull(windows);
        plan.Check();
        var runs = new List<TrackingRun>();
        foreach (TimeWindow window in windows)
        {
            Instant start = window.Start;
            while (plan.FramesIn(Math.Min(plan.TravelMinutes, window.End.MinutesSince(start))) is var frames and > 0)
            {
                Instant end = start.PlusSeconds((frames * (plan.ExposureSeconds + plan.GapSeconds)) - plan.GapSeconds);
                Instant ready = end.PlusMinutes(plan.RewindMinutes);
                bool more = plan.FramesIn(window.End.MinutesSince(ready)) > 0;
                runs.Add(new TrackingRun(start, end, frames, more ? ready : null));
                start = ready;
            }
        }

        return new RunTimetable(runs, plan);
    }
}
