// Keep, doubt or drop: each frame's numbers against the run's better frames, with the reason in a sentence.
// Pure functions on FrameMeasures; the limits stand in GradeLimits.
namespace Hourhinge.Frames.Grading;

/// <summary>What to do with a frame.</summary>
public enum FrameGrade
{
    /// <summary>Stack it.</summary>
    Keep,

    /// <summary>Look at it first.</summary>
    Doubt,

    /// <summary>Leave it out.</summary>
    Drop,
}

/// <summary>Limits of the grades.</summary>
/// <param name="DropTrailPx">Trailing that drops a frame. 1.4 px lies between what nobody sees (0.5) and what
/// everybody does (2), half way in the square, which is what is measured.</param>
/// <param name="DoubtTrailPx">Trailing that casts doubt.</param>
/// <param name="DropWidthRatio">Star width over that of the run's sharper frames.</param>
/// <param name="DoubtWidthRatio">Same, doubt.</param>
/// <param name="DropStarShare">Share of the clear frames' stars below which a frame is dropped.</param>
/// <param name="DoubtStarShare">Same, doubt.</param>
/// <param name="DoubtBackgroundRatio">Background over the run's median.</param>
public sealed record GradeLimits(
    double DropTrailPx = 1.4, double DoubtTrailPx = 0.9, double DropWidthRatio = 1.8, double DoubtWidthRatio = 1.35,
    double DropStarShare = 0.35, double DoubtStarShare = 0.65, double DoubtBackgroundRatio = 1.6);

/// <summary>A graded frame.</summary>
/// <param name="Measures">The numbers.</param>
/// <param name="Grade">The verdict.</param>
/// <param name="Reason">One sentence.</param>
public sealed record GradedFrame(FrameMeasures Measures, FrameGrade Grade, string Reason);

/// <summary>Grades frames.</summary>
public static class FrameGrader
{
    private const double NearRad = 25 * Math.PI / 180;

    /// <summary>Grades a run; the order is kept.</summary>
    /// <param name="run">All frames of the run, refused ones included.</param>
    /// <param name="westAngleRad">Direction of the sky's motion on the sensor, to name who trailed a frame; null if
    /// unknown.</param>
    /// <param name="limits">Limits; null for the usual.</param>
    public static IReadOnlyList<GradedFrame> Grade(IReadOnlyList<FrameMeasures> run, double? westAngleRad = null,
        GradeLimits? limits = null)
    {
        limits ??= new GradeLimits();
        var usable = run.Where(f => f.Error.Length == 0 && !f.TooMuch).ToList();
        double clear = At(usable.Select(f => (double)f.Stars), 0.8);
        // Frames of points only: a trailed frame's width is no measure of sharpness.
        double sharp =
            At(usable.Where(f => f.TrailPx < limits.DropTrailPx && f.Stars >= 5).Select(f => f.FwhmPx), 0.25);
        double dark = At(usable.Select(f => f.Background), 0.5);
        return run.Select(f => One(f, clear, sharp, dark, westAngleRad, limits)).ToList();
    }

    private static GradedFrame One(FrameMeasures f, double clear, double sharp, double dark, double? west,
        GradeLimits limits)
    {
        if (f.Error.Length > 0)
        {
            return new GradedFrame(f, FrameGrade.Drop, "Drop: " + f.Error);
        }

        var drop = new List<string>();
        var doubt = new List<string>();
        void Say(bool isDrop, bool isDoubt, string text)
        {
            if (isDrop || isDoubt)
            {
                (isDrop ? drop : doubt).Add(text);
            }
        }
        if (f.TooMuch)
        {
            drop.Add("light all over the frame (daylight, dew or a lamp)");
        }
        else if (f.Stars < 5)
        {
            drop.Add($"only {f.Stars} stars (cloud, cap or focus)");
        }

        if (drop.Count == 0)
        {
            Say(f.TrailPx > limits.DropTrailPx, f.TrailPx > limits.DoubtTrailPx,
                $"stars trailed by {f.TrailPx:0.0} px {Cause(f, west)}");
            if (f.TrailPx <= limits.DropTrailPx && sharp > 0)
            {
                Say(f.FwhmPx > limits.DropWidthRatio * sharp, f.FwhmPx > limits.DoubtWidthRatio * sharp,
                    $"stars {f.FwhmPx:0.0} px wide where the sharper frames have {sharp:0.0} (focus, dew or haze)");
            }
            // Trailing spreads the light and hides faint stars: do not blame a cloud as well.
            if (f.TrailPx <= limits.DoubtTrailPx)
            {
                Say(f.Stars < limits.DropStarShare * clear, f.Stars < limits.DoubtStarShare * clear,
                    $"{f.Stars} stars where clear frames have {clear:0} (cloud)");
            }

            Say(false, f.Background > limits.DoubtBackgroundRatio * dark,
                $"background {f.Background / dark:0.0} times the run's (cloud lit from below, moon or dawn)");
            Say(false, f.LongestStreakPx > 60, $"an aircraft's or satellite's trail of {f.LongestStreakPx:0} px");
        }
        if (drop.Count > 0)
        {
            return new GradedFrame(f, FrameGrade.Drop, $"Drop: {string.Join("; ", drop.Concat(doubt))}.");
        }

        if (doubt.Count > 0)
        {
            return new GradedFrame(f, FrameGrade.Doubt, $"Doubt: {string.Join("; ", doubt)}.");
        }

        return new GradedFrame(f, FrameGrade.Keep,
            $"Keep: {f.Stars} stars, {f.FwhmPx:0.0} px wide, trailed by less than {Math.Max(f.TrailPx, 0.1):0.0} px.");
    }

    private static string Cause(FrameMeasures f, double? west)
    {
        if (west is not { } w)
        {
            return $"at {f.TrailAngleRad * 180 / Math.PI:0} degrees on the sensor";
        }

        double off = Math.Abs(Math.IEEERemainder(f.TrailAngleRad - w, Math.PI));
        return off < NearRad ? "along the sky's motion (the drive's rate or its thread)"
            : off > (Math.PI / 2) - NearRad ? "across the sky's motion (the axis)"
            : "slanting to the sky's motion (wind, a loose joint, or drive and axis together)";
    }

    private static double At(IEnumerable<double> values, double share)
    {
        var sorted = values.Order().ToList();
        return sorted.Count == 0 ? 0 : sorted[Math.Min((int)(sorted.Count * share), sorted.Count - 1)];
    }
}
