// Keep, doubt or drop: each frame's numbers against the run's better frames, with the reason in a sentence.
// Pure functions on FrameMeasures; the limits stand in GradeLimits, the comparison in RunComparison.
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
/// <param name="DropLightShare">Light of the same stars, over that of the clearer frames, below which a frame is
/// dropped.</param>
/// <param name="DoubtLightShare">Same, doubt.</param>
public sealed record GradeLimits(
    double DropTrailPx = 1.4, double DoubtTrailPx = 0.9, double DropWidthRatio = 1.8, double DoubtWidthRatio = 1.35,
    double DropStarShare = 0.35, double DoubtStarShare = 0.65, double DoubtBackgroundRatio = 1.6,
    double DropLightShare = 0.4, double DoubtLightShare = 0.7);

/// <summary>A graded frame.</summary>
/// <param name="Measures">The numbers.</param>
/// <param name="Grade">Keep, doubt or drop.</param>
/// <param name="Reason">One sentence.</param>
/// <param name="Transparency">Light of its stars over that of the run's clearer frames; null where unknown.</param>
public sealed record GradedFrame(FrameMeasures Measures, FrameGrade Grade, string Reason,
    double? Transparency = null);

/// <summary>A graded run.</summary>
/// <param name="Frames">The frames in the order given.</param>
/// <param name="CommonElongationPx">What all frames share and no frame is blamed for, as the length of a trail; 0 for
/// none.</param>
/// <param name="Remarks">Sentences on the run.</param>
public sealed record GradedFrames(IReadOnlyList<GradedFrame> Frames, double CommonElongationPx,
    IReadOnlyList<string> Remarks);

/// <summary>Grades frames.</summary>
public static class FrameGrader
{
    private const double NearRad = 25 * Math.PI / 180;

    // An elongation is believed at this many times its standard error.
    private const double SureSigma = 3;

    /// <summary>Grades a run; the order is kept.</summary>
    /// <param name="run">All frames of the run, refused ones included.</param>
    /// <param name="westAngleRad">Direction of the sky's motion on the sensor, to name who trailed a frame; null if
    /// unknown.</param>
    /// <param name="limits">Limits; null for the usual.</param>
    public static IReadOnlyList<GradedFrame> Grade(IReadOnlyList<FrameMeasures> run, double? westAngleRad = null,
        GradeLimits? limits = null) => GradeRun(run, westAngleRad, limits).Frames;

    /// <summary>The same, with what there is to say of the run.</summary>
    /// <param name="run">All frames of the run, refused ones included.</param>
    /// <param name="westAngleRad">As above; told, it goes before that of <paramref name="sky"/>.</param>
    /// <param name="limits">Limits; null for the usual.</param>
    /// <param name="sky">How the sky lies on the frames, where one was recognised.</param>
    public static GradedFrames GradeRun(IReadOnlyList<FrameMeasures> run, double? westAngleRad = null,
        GradeLimits? limits = null, KnownSky? sky = null)
    {
        limits ??= new GradeLimits();
        westAngleRad ??= sky?.WestAngleRad;
        var compared = RunComparison.Of(run, sky);
        // Frames of another size are another camera's, or were reduced: neither stars nor widths compare.
        (int, int)? size = compared.Frames.Where(f => f.Error.Length == 0).GroupBy(f => (f.WidthPx, f.HeightPx))
            .MaxBy(g => g.Count())?.Key;
        var usable = compared.Frames.Where(f => f.Error.Length == 0 && !f.TooMuch && IsOfSize(f, size)).ToList();
        // Frames of points only: a trailed frame's width is no measure of sharpness.
        IEnumerable<FrameMeasures> points =
            usable.Where(f => f.TrailPx < limits.DropTrailPx && f.Stars >= FrameMeasures.FewStars);
        var standard = new Standard(
            At(usable.Select(f => (double)f.Stars), 0.8), At(points.Select(f => f.FwhmPx), 0.25),
            At(usable.Select(f => f.Background), 0.5), westAngleRad, limits, size);
        bool matched = compared.Motions.Count(m => m.Transparency is not null) > run.Count / 2;
        return new GradedFrames(
            [.. compared.Frames.Select((f, i) => One(f, compared.Motions[i], compared.Removed[i], matched, standard))],
            compared.CommonPx, compared.Remarks);
    }

    // What the frames of a run are held against: stars of the clear ones, width of the sharper ones, background of the
    // usual ones.
    private sealed record Standard(double Clear, double Sharp, double Dark, double? West, GradeLimits Limits,
        (int Width, int Height)? Size);

    private static bool IsOfSize(FrameMeasures f, (int Width, int Height)? size) =>
        size is not { } s || (f.WidthPx == s.Width && f.HeightPx == s.Height);

    private static GradedFrame One(FrameMeasures f, FrameMotion motion, int removed, bool matched, Standard run)
    {
        if (f.Error.Length > 0)
        {
            return new GradedFrame(f, FrameGrade.Drop, "Drop: " + f.Error);
        }

        GradeLimits limits = run.Limits;
        var drop = new List<string>();
        var doubt = new List<string>();
        void AddReason(bool isDrop, bool isDoubt, string text)
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
            drop.Add((f.Stars == 0 ? "no stars" : $"only {f.Stars} stars") + " (cloud, cap or focus)"
                + (removed > 0 ? $"; {removed} sources stand still on the sensor like hot pixels" : ""));
        }

        if (drop.Count == 0)
        {
            bool judged = f.Stars >= FrameMeasures.FewStars;
            AddReason(false, !judged, $"{f.Stars} stars are too few to judge their shape");
            bool trailed = judged && IsSure(f);
            AddReason(trailed && f.TrailPx > limits.DropTrailPx, trailed && f.TrailPx > limits.DoubtTrailPx,
                $"stars trailed by {f.TrailPx:0.0} px {Cause(f, run.West)}");
            if (!IsOfSize(f, run.Size))
            {
                doubt.Add($"{f.WidthPx} by {f.HeightPx} pixels where the run has {run.Size!.Value.Width} by "
                    + $"{run.Size.Value.Height}: not compared with it");
            }
            else
            {
                Compare();
            }

            AddReason(false, f.LongestStreakPx > 60,
                $"a line of {f.LongestStreakPx:0} px (an aircraft, a satellite, or an edge in the foreground)");
        }

        void Compare()
        {
            bool judged = f.Stars >= FrameMeasures.FewStars;
            if (judged && f.TrailPx <= limits.DropTrailPx && run.Sharp > 0)
            {
                AddReason(f.FwhmPx > limits.DropWidthRatio * run.Sharp, f.FwhmPx > limits.DoubtWidthRatio * run.Sharp,
                    $"stars {f.FwhmPx:0.0} px wide where the sharper frames have {run.Sharp:0.0} (focus, dew or haze)");
            }

            AddClouds(f, motion, matched, run, AddReason);
            AddReason(false, f.Background > limits.DoubtBackgroundRatio * run.Dark,
                $"background {f.Background / run.Dark:0.0} times the run's (cloud lit from below, moon or dawn)");
        }

        if (drop.Count > 0)
        {
            return new GradedFrame(f, FrameGrade.Drop, $"Drop: {string.Join("; ", drop.Concat(doubt))}.",
                motion.Transparency);
        }

        if (doubt.Count > 0)
        {
            return new GradedFrame(f, FrameGrade.Doubt, $"Doubt: {string.Join("; ", doubt)}.", motion.Transparency);
        }

        return new GradedFrame(f, FrameGrade.Keep,
            $"Keep: {f.Stars} stars, {f.FwhmPx:0.0} px wide, trailed by less than {Math.Max(f.TrailPx, 0.1):0.0} px.",
            motion.Transparency);
    }

    // The light of the same stars tells a thin cloud; their number tells a thick one, and what is no star at all.
    private static void AddClouds(FrameMeasures f, FrameMotion motion, bool matched, Standard run,
        Action<bool, bool, string> say)
    {
        GradeLimits limits = run.Limits;
        if (motion.Transparency is { } light)
        {
            say(light < limits.DropLightShare, light < limits.DoubtLightShare,
                $"{100 * light:0} % of the light of the clearer frames (cloud, haze or dew)");
        }
        else if (matched)
        {
            say(false, true, "its stars are not those of the run's other frames (another field, or noise)");
        }

        // Trailing spreads the light and hides faint stars: do not blame a cloud as well.
        if (f.TrailPx <= limits.DoubtTrailPx || !IsSure(f))
        {
            say(f.Stars < limits.DropStarShare * run.Clear, f.Stars < limits.DoubtStarShare * run.Clear,
                $"{f.Stars} stars where clear frames have {run.Clear:0} (cloud)");
        }
    }

    private static bool IsSure(FrameMeasures f) =>
        f.TrailPx * f.TrailPx / 12 > SureSigma * f.ShapeErrorPx2;

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
