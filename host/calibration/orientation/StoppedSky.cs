// From frames with the drive stopped: how the sky lies on the sensor and how large it is there, without trusting the
// lens barrel. A star at declination δ trails 15.041067 arcsec/s · cos δ · exposure; over a wide field each trail has
// its own declination and place, so the whole pattern is predicted by turning each line of sight about the pole and
// fitted.
using Hourhinge.Frames.Matching;
using Hourhinge.Frames.Stars;
using Hourhinge.Numerics;

namespace Hourhinge.Calibration.Orientation;

/// <summary>Result of the drive-stopped frames.</summary>
/// <param name="Sky">Direction and scale.</param>
/// <param name="FocalLengthPx">Focal length in pixels with its uncertainty.</param>
/// <param name="WestAngleRad">Direction of the sky's motion with its uncertainty.</param>
/// <param name="DirectionKnown">False where the trails alone do not tell west from east (a narrow field near the
/// equator).</param>
/// <param name="Trails">Trails, or star pairs, behind it.</param>
/// <param name="Outliers">Trails left out: aircraft, satellites, two stars in one line.</param>
/// <param name="Assessment">Whether to act on it.</param>
public sealed record StoppedResult(
    SkyOnSensor Sky, Estimate FocalLengthPx, Estimate WestAngleRad, bool DirectionKnown, int Trails, int Outliers,
        CalibrationAssessment Assessment)
{
    /// <summary>How long the shutter was really open, s; null where only the files tell.</summary>
    public Estimate? TrueExposureSec { get; init; }

    /// <summary>Sentences for the user that are no reason for doubt.</summary>
    public IReadOnlyList<string> Remarks { get; init; } = [];

    /// <summary>True where the trails' shape points the other way than the direction that was given.</summary>
    internal bool ShapeContradicts { get; init; }

    /// <summary>The same with one more reason for doubt.</summary>
    internal StoppedResult WithReason(string reason) =>
        this with { Assessment = new CalibrationAssessment([.. Assessment.Reasons, reason]) };
}

/// <summary>Fits the sky's direction and scale.</summary>
public static class StoppedSky
{
    private const string DirectionUnknown =
        "the trails do not tell west from east: take a second frame with the drive stopped, half a minute later.";

    // The trails bend round the pole of the hemisphere that the field lies in. A field this few standard errors of the
    // pointing from the equator may lie in the other one.
    private const double SigmasFromEquator = 4;

    /// <summary>From the trails of one frame, the drive stopped.</summary>
    /// <param name="field">The frame's streaks.</param>
    /// <param name="exposureSeconds">True exposure. Its error goes straight into the scale; many cameras expose 32 s
    /// when set to 30 (common practice, no source), which <see cref="FromMotion"/> shows.</param>
    /// <param name="declinationRad">Declination of the frame's centre.</param>
    /// <param name="mirrored">True for mirror images.</param>
    /// <param name="declinationSigmaRad">Standard error of the declination: near the equator it decides whether the
    /// shape of the trails tells west from east at all.</param>
    /// <param name="known">Direction and scale from the motion between frames; trails of another length or direction
    /// are then left out. Null where only the trails tell.</param>
    /// <returns>The result, or null with fewer than 3 whole trails.</returns>
    public static StoppedResult? FromTrails(StarField field, double exposureSeconds, double declinationRad,
        bool mirrored = false, double declinationSigmaRad = 0, SkyOnSensor? known = null)
    {
        var trails = field.Streaks.Where(s => !s.CutByEdge).ToList();
        if (trails.Count < 3)
        {
            return null;
        }

        double turn = ApparentDrift.RadPerSec * exposureSeconds;
        double cx = (field.Width - 1) / 2.0, cy = (field.Height - 1) / 2.0;
        double length = Median.Of(trails.Select(t => t.LengthPx)), angle = MedianAxis(trails);
        if (known is not null)
        {
            trails = Plausible(trails, known, turn, declinationRad);
            if (trails.Count < 3)
            {
                return null;
            }

            (length, angle) = (Median.Of(trails.Select(t => t.LengthPx)), known.WestAngleRad);
        }

        double focal = length / Math.Max(turn * Math.Cos(declinationRad), 1e-9);
        Fitted? one = Fit(trails, cx, cy, turn, declinationRad, mirrored, focal, angle);
        Fitted? other = Fit(trails, cx, cy, turn, declinationRad, mirrored, focal, angle + Math.PI);
        if (one is null || other is null)
        {
            return null;
        }

        bool shapeTells = Math.Abs(one.Loss - other.Loss) > 20
            && Math.Abs(declinationRad) > SigmasFromEquator * declinationSigmaRad;
        bool contradicts = known is not null && shapeTells && other.Loss < one.Loss;
        Fitted best = known is not null || one.Loss <= other.Loss ? one : other;
        bool arrow = known is not null || shapeTells;
        var reasons = new List<string>();
        if (trails.Count - best.Outliers < 8)
        {
            reasons.Add($"only {trails.Count - best.Outliers} trails agree: at least 8 are needed.");
        }

        if (best.Outliers > trails.Count / 3)
        {
            reasons.Add(
                $"{best.Outliers} of {trails.Count} streaks do not fit the sky's turn at this declination: is the "
                + "declination right, and was the drive stopped?");
        }

        if (length < 15)
        {
            reasons.Add($"the trails are {length:0} pixels long: expose longer, for 15 pixels or more.");
        }

        if (!arrow)
        {
            reasons.Add(DirectionUnknown);
        }

        var sky = new SkyOnSensor(Math.IEEERemainder(best.West.Value, 2 * Math.PI), best.Focal.Value, mirrored);
        return new StoppedResult(sky, best.Focal, best.West with { Value = sky.WestAngleRad }, arrow,
            trails.Count - best.Outliers, best.Outliers, new CalibrationAssessment(reasons))
        { ShapeContradicts = contradicts };
    }

    // Landscape and noise make streaks of any length and direction.
    private static List<Streak> Plausible(List<Streak> trails, SkyOnSensor known, double turn, double declinationRad)
    {
        const double LengthFactor = 1.25, AngleRad = 0.35;
        double length = known.FocalLengthPx * turn * Math.Cos(declinationRad);
        return [.. trails.Where(t => t.LengthPx < length * LengthFactor && t.LengthPx > length / LengthFactor
            && Math.Abs(Math.IEEERemainder(t.AngleRad - known.WestAngleRad, Math.PI)) < AngleRad)];
    }

    /// <summary>From the motion of the field between two frames, the drive stopped at both: needs no exposure, only
    /// times.</summary>
    /// <param name="motion">From the earlier to the later frame.</param>
    /// <param name="seconds">Time between the two, later minus earlier, 5 s or more.</param>
    /// <param name="stampSigmaSeconds">Standard error of that difference: 0.41 s for two whole-second stamps.</param>
    /// <param name="declinationRad">Declination of the frame's centre.</param>
    /// <param name="mirrored">True for mirror images.</param>
    /// <param name="declinationSigmaRad">Standard error of the declination.</param>
    public static StoppedResult FromMotion(FieldMotion motion, double seconds, double stampSigmaSeconds,
        double declinationRad, bool mirrored = false, double declinationSigmaRad = 0)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(seconds, 5);
        double turn = ApparentDrift.RadPerSec * seconds;
        double shift = Math.Sqrt((motion.ShiftXPx * motion.ShiftXPx) + (motion.ShiftYPx * motion.ShiftYPx));
        // Predicted for focal length 1 and west along +x: where the frame's centre goes, its second order included.
        (double px, double py) = Turn(0, 0, 1, 0, declinationRad, turn, mirrored);
        double focal = shift / Math.Sqrt((px * px) + (py * py));
        double west =
            Math.IEEERemainder(Math.Atan2(motion.ShiftYPx, motion.ShiftXPx) - Math.Atan2(py, px), 2 * Math.PI);
        double relative =
            Math.Sqrt(Math.Pow(stampSigmaSeconds / seconds, 2) + Math.Pow(motion.SigmaShiftPx / shift, 2));
        double angleSigma = motion.SigmaShiftPx / shift;
        var reasons = new List<string>();
        if (shift < 20)
        {
            reasons.Add($"the field moved only {shift:0.0} pixels: leave more time between the frames.");
        }
        // The field turns about its centre by ω sin δ, whatever the scale: a check on the declination that was given.
        double expected = (mirrored ? 1 : -1) * Math.Sin(declinationRad) * turn;
        double off = motion.RotationRad - expected, allowed = (4 * motion.SigmaRotationRad) + (0.02 * turn)
            + (4 * Math.Cos(declinationRad) * declinationSigmaRad * turn)
            + (4 * ApparentDrift.RadPerSec * stampSigmaSeconds);
        if (Math.Abs(off) > allowed)
        {
            double sine = Math.Clamp((mirrored ? 1 : -1) * motion.RotationRad / turn, -1, 1);
            reasons.Add(
                $"the field turns as at declination {Math.Asin(sine) * 180 / Math.PI:0}, not "
                    + $"{declinationRad * 180 / Math.PI:0}: check the declination, whether the picture is mirrored, "
                    + "and the frames' order.");
        }
        return new StoppedResult(new SkyOnSensor(west, focal, mirrored),
            new Estimate(focal, focal * relative, focal * relative * 1.96),
            new Estimate(west, angleSigma, angleSigma * 1.96), true, motion.Pairs, 0,
            new CalibrationAssessment(reasons));
    }

    private sealed record Fitted(Estimate Focal, Estimate West, double Loss, int Outliers);

    private static Fitted? Fit(List<Streak> trails, double cx, double cy, double turn, double declination,
        bool mirrored, double focal, double west)
    {
        double[] weight = Enumerable.Repeat(1.0, trails.Count).ToArray();
        double[] pulls = new double[2 * trails.Count];
        double[] covariance = [0, 0];
        double[] start = [1.0, west];
        double[] noise = [1.0, 1.0];
        const int Rounds = 8;
        for (int round = 0; round < Rounds; round++)
        {
            double[] Weighted(double[] p)
            {
                double[] r = new double[2 * trails.Count];
                Residuals(trails, cx, cy, turn, declination, mirrored, focal * p[0], p[1], r);
                for (int i = 0; i < r.Length; i++)
                {
                    r[i] *= weight[i / 2] / noise[i % 2];
                }

                return r;
            }

            var fit = LeastSquares.Solve(Weighted, start, [0.1, 0.1]);
            if (!fit.Converged)
            {
                return null;
            }

            covariance = [.. fit.Covariance().Diagonal()];
            start = fit.Parameters;
            Residuals(trails, cx, cy, turn, declination, mirrored, focal * start[0], start[1], pulls);
            Normalise(pulls, weight, noise);
            double[] size = Enumerable.Range(0, trails.Count).Select(i =>
                Math.Sqrt((pulls[2 * i] * pulls[2 * i]) + (pulls[(2 * i) + 1] * pulls[(2 * i) + 1]))).ToArray();
            double spread = Math.Max(Median.Of(size) / 1.1774, 0.3);
            for (int i = 0; i < size.Length; i++)
            {
                // The weight multiplies residuals, so it is the root of Tukey's. The last rounds count every kept trail
                // in full: the covariance is that of least squares.
                double root = Math.Sqrt(RobustWeights.Tukey(size[i], RobustWeights.Tukey95 * spread));
                weight[i] = root > 0 && round >= Rounds - 2 ? 1 : root;
            }
        }
        int used = weight.Count(w => w > 0);
        if (used < 3)
        {
            return null;
        }
        // Minus twice the logarithm of the likelihood, up to a constant; a left-out trail costs as much as 4 sigma.
        double loss = (2 * used * (Math.Log(noise[0]) + Math.Log(noise[1]))) + (16 * (trails.Count - used));
        double t = MathNet.Numerics.Distributions.StudentT.InvCDF(0, 1, Math.Max((2 * used) - 2, 1), 0.975);
        // The covariance counts residuals of left-out trails as zeros: give the degrees of freedom back.
        double back = Math.Sqrt(Math.Max((2.0 * trails.Count) - 2, 1) / Math.Max((2 * used) - 2, 1));
        double sf = Math.Sqrt(covariance[0]) * focal * back, sa = Math.Sqrt(covariance[1]) * back;
        return new Fitted(new Estimate(focal * start[0], sf, sf * t), new Estimate(start[1], sa, sa * t), loss,
            trails.Count - used);
    }

    // Ends and directions have each their own noise; without this the better known direction would make the length look
    // better known than it is.
    private static void Normalise(double[] pulls, double[] weight, double[] noise)
    {
        for (int kind = 0; kind < 2; kind++)
        {
            double[] kept = Enumerable.Range(0, weight.Length).Where(i => weight[i] > 0)
                .Select(i => pulls[(2 * i) + kind])
                .ToArray();
            noise[kind] = Math.Max(Math.Sqrt(kept.Sum(v => v * v) / Math.Max(kept.Length - 1, 1)), 1e-3);
            double robust = RobustWeights.SigmaPerMedianAbs * Median.Of(kept.Select(Math.Abs));
            // Streaks that are no star trails widen the first Rounds: the median is not fooled.
            noise[kind] = Math.Min(noise[kind], 1.5 * Math.Max(robust, 1e-3));
            for (int i = 0; i < weight.Length; i++)
            {
                pulls[(2 * i) + kind] /= noise[kind];
            }
        }
    }

    private static void Residuals(List<Streak> trails, double cx, double cy, double turn, double declination,
        bool mirrored,
        double focal, double west, double[] r)
    {
        for (int i = 0; i < trails.Count; i++)
        {
            Streak t = trails[i];
            double mx = ((t.X1 + t.X2) / 2) - cx, my = ((t.Y1 + t.Y2) / 2) - cy;
            (double ax, double ay) = Turn(mx, my, focal, west, declination, -turn / 2, mirrored);
            (double bx, double by) = Turn(mx, my, focal, west, declination, turn / 2, mirrored);
            double dx = t.X2 - t.X1, dy = t.Y2 - t.Y1, px = bx - ax, py = by - ay;
            // A trail has no arrow: take its ends in the order that points the predicted way.
            if ((dx * px) + (dy * py) < 0)
            {
                (dx, dy) = (-dx, -dy);
            }

            double length = Math.Max(Math.Sqrt((px * px) + (py * py)), 1e-9), ux = px / length, uy = py / length;
            double sigma = Math.Max(1.4142 * t.EndSigmaPx, 0.05);
            r[2 * i] = (((dx - px) * ux) + ((dy - py) * uy)) / sigma;
            r[(2 * i) + 1] = (((dy - py) * ux) - ((dx - px) * uy)) / sigma;
        }
    }

    // Where a line of sight at (x, y) from the frame's centre goes while the sky turns by an angle. The camera's axes
    // are +x, +y and the optical axis; with west along u and the pole at declination's complement, north is a quarter
    // turn from east = -u (see SkyOnSensor), and the sky turns about the pole by minus the angle.
    private static (double X, double Y) Turn(double x, double y, double focal, double west, double declination,
        double angle, bool mirrored)
    {
        double flip = mirrored ? -1 : 1, w = mirrored ? Math.PI - west : west;
        double ex = -Math.Cos(w), ey = -Math.Sin(w), c = Math.Cos(declination);
        var pole = new Vector3(-ey * c, ex * c, Math.Sin(declination));
        Vector3 v = Rotation.About(pole, new Angle(-angle)).Apply(new Vector3(flip * x, y, focal));
        return (flip * focal * v.X / v.Z, focal * v.Y / v.Z);
    }

    private static double MedianAxis(List<Streak> trails)
    {
        double s = trails.Sum(t => Math.Sin(2 * t.AngleRad)), c = trails.Sum(t => Math.Cos(2 * t.AngleRad));
        return 0.5 * Math.Atan2(s, c);
    }
}
