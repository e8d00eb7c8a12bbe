// Every source of blur of one exposure, in arcseconds and pixels; which dominates; how long an exposure may be.
// The sky's part (axis, refraction) is host/sky's, the rig's part shared-math's; here they are only combined.

using Hourhinge.Numerics;
using Hourhinge.SharedMath.Geometry;
using Hourhinge.Sky.Observing;
using Hourhinge.Sky.Places;

namespace Hourhinge.Planning;

/// <summary>One source of blur.</summary>
/// <param name="Key">Stable name for programs.</param>
/// <param name="Name">Name for people.</param>
/// <param name="Arcsec">Length of the trail it makes in the exposure, or its width, arcsec.</param>
/// <param name="ArcsecPerSec">The same as a rate, for sources that grow steadily; NaN for the others.</param>
/// <param name="Basis">What it was computed from.</param>
/// <param name="Remedy">What reduces it.</param>
/// <param name="GrowsWithTime">False for sources that do not depend on the exposure.</param>
/// <param name="PartOf">Key of the source that contains this one, so that it is not added again; null for a source of
/// its own.</param>
public sealed record BlurSource(string Key, string Name, double Arcsec, double ArcsecPerSec, string Basis,
    string Remedy, bool GrowsWithTime, string? PartOf = null)
{
    /// <summary>Whether the source is added to the tracking blur.</summary>
    public bool IsAdded => GrowsWithTime && PartOf == null;
}

/// <summary>The budget of one exposure.</summary>
public sealed class ExposureBudget
{
    private const string NoRemedy = "nothing to do";

    private readonly BudgetInput _in;
    private readonly HourAngleDeclination _place;
    private readonly PolarMisalignment _axisForDrift;
    private readonly PolarMisalignment _axisForRotation;
    private readonly FrameCorners _corners;
    private readonly Angle _latitude;
    private readonly Air _air;

    /// <summary>Computes the budget for the input's exposure.</summary>
    public ExposureBudget(BudgetInput input)
    {
        _in = input;
        _latitude = Angle.FromDegrees(input.Site.LatitudeDeg);
        _air = Air.AtHeight(input.Site.HeightM);
        _place =
            new HourAngleDeclination(Angle.FromHours(input.HourAngleHours), Angle.FromDegrees(input.DeclinationDeg));
        _axisForDrift = WorstAxis(b => b.DriftArcsec);
        _axisForRotation = WorstAxis(b => b.CornerTrailArcsec);
        _corners = new FrameCorners(_place, Angle.FromArcseconds(input.CornerArcsec), _latitude, _air);
        AltitudeDeg = Horizon.FromHourAngle(_place, _latitude).Altitude.Degrees;
        Sources = SourcesAt(input.ExposureSec);
    }

    /// <summary>Target's true altitude, degrees.</summary>
    public double AltitudeDeg { get; }

    /// <summary>All sources at the input's exposure, largest first.</summary>
    public IReadOnlyList<BlurSource> Sources { get; }

    /// <summary>The tracking sources at the input's exposure added in squares, arcsec: typical, because independent
    /// errors seldom all act in one direction.</summary>
    public double TrackingBlurArcsec => TrackingBlur(_in.ExposureSec, []);

    /// <summary>The same sources added in line, arcsec: a bound, if no source is larger than stated.</summary>
    public double BoundArcsec => BlurBound(_in.ExposureSec);

    /// <summary>The source that dominates the tracking blur.</summary>
    public BlurSource Dominant => Sources.Where(s => s.IsAdded).MaxBy(s => s.Arcsec)!;

    /// <summary>The typical tracking blur of an exposure without some of its sources, arcsec.</summary>
    public double TrackingBlur(double exposureSec, IReadOnlyCollection<string> removed) => Math.Sqrt(
        SourcesAt(exposureSec).Where(s => s.IsAdded && !removed.Contains(s.Key)).Sum(s => s.Arcsec * s.Arcsec));

    /// <summary>The largest tracking blur of an exposure, arcsec.</summary>
    public double BlurBound(double exposureSec) => SourcesAt(exposureSec).Where(s => s.IsAdded).Sum(s => s.Arcsec);

    /// <summary>
    /// The longest exposure whose typical tracking blur stays within a limit, s; at most the rig's travel.
    /// </summary>
    public double LongestExposureSec(double blurArcsec, IReadOnlyCollection<string> removed) =>
        Longest(t => TrackingBlur(t, removed), blurArcsec);

    /// <summary>The longest exposure whose blur stays within a limit even if all sources act in one direction, s.
    /// </summary>
    public double LongestBoundSec(double blurArcsec) => Longest(BlurBound, blurArcsec);

    /// <summary>
    /// What to improve, in order: at each step the source whose removal lengthens the exposure most; among equals, the
    /// one that leaves the least blur.
    /// </summary>
    /// <param name="blurArcsec">Blur allowed.</param>
    /// <param name="count">Most sources to return.</param>
    /// <returns>Each source with the longest exposure once it and those before it are removed, s.</returns>
    public IReadOnlyList<(BlurSource Removed, double LongestSec)> Improvements(double blurArcsec, int count)
    {
        var steps = new List<(BlurSource Removed, double LongestSec)>();
        List<BlurSource> left = [.. Sources.Where(s => s.IsAdded && s.Remedy != NoRemedy && s.Arcsec > 0)];
        while (steps.Count < count && left.Count > 0)
        {
            string[] removed = [.. steps.Select(s => s.Removed.Key)];
            (BlurSource Removed, double LongestSec) best = left
                .Select(s => (s, LongestExposureSec(blurArcsec, [.. removed, s.Key])))
                .OrderByDescending(s => Math.Round(s.Item2, 3))
                .ThenBy(s => TrackingBlur(_in.ExposureSec, [.. removed, s.s.Key])).First();
            steps.Add(best);
            left.Remove(best.Removed);
        }

        return steps;
    }

    // By bisection: no source shrinks with time.
    private double Longest(Func<double, double> blurAt, double blurArcsec)
    {
        double low = 0;
        double high = _in.Drive.Design.TravelSec;
        if (blurAt(high) <= blurArcsec)
        {
            return high;
        }

        for (int i = 0; i < 60; i++)
        {
            double mid = (low + high) / 2;
            (low, high) = blurAt(mid) <= blurArcsec ? (mid, high) : (low, mid);
        }

        return low;
    }

    /// <summary>The same on a tripod without tracking: the sky's own motion alone, s.</summary>
    public double LongestUntrackedSec(double blurArcsec) =>
        blurArcsec
        / (AngleUnits.ToArcsec(SkyRate.SiderealRadPerSec) * Math.Max(1e-3, Math.Cos(_place.Declination.Radians)));

    /// <summary>The photographers' rule of thumb, 500 / (focal length × crop factor), s (common practice, no
    /// source).</summary>
    public double RuleOfFiveHundredSec => 500 / (_in.FocalMm * CropFactor);

    /// <summary>Diagonal of a 36 × 24 mm frame over the sensor's.</summary>
    public double CropFactor => 43.267
        / (Math.Sqrt(Math.Pow(_in.Camera.WidthPx, 2) + Math.Pow(_in.Camera.HeightPx, 2)) * _in.Camera.PixelUm / 1000);

    private List<BlurSource> SourcesAt(double t)
    {
        double cosDec = Math.Abs(Math.Cos(_place.Declination.Radians));
        double sky = AngleUnits.ToArcsec(SkyRate.SiderealRadPerSec) * cosDec;
        bool rateMeasured = !double.IsNaN(_in.RateUncertaintyPpm.Value);
        double armFraction = _in.ArmUncertaintyMm.Value / ArmMm();
        Angle corner = Angle.FromArcseconds(_in.CornerArcsec);
        double drift = _axisForDrift.BlurOver(_place, 1, corner).DriftArcsec;
        double rotation = _axisForRotation.BlurOver(_place, 1, corner).CornerTrailArcsec;
        RefractedMotion refraction = RefractionDrift.At(_place, _latitude, _air, AxisAim.RefractedPole);
        double followed = Rig.RigDrive.RateRadPerSec(_in.Rig with { Rate = _in.Rig.Rate.Uncorrected })
            / SkyRate.SiderealRadPerSec;
        double alongRefraction = Math.Abs(refraction.RateRatio - followed) * sky;
        double acrossRefraction = Math.Abs(refraction.DeclinationArcsecPerMinute) / 60;
        double refractionRate = Math.Sqrt((alongRefraction * alongRefraction) + (acrossRefraction * acrossRefraction));
        double step = _in.Drive.Design.ArcsecPerCountAt(0) * cosDec;
        double periodic = _in.PeriodicArcsec.Value * cosDec;
        double period = 60 / _in.Drive.Design.NutTurnsPerMinuteAt(0);
        // The largest stretch of a sine of amplitude A within a time t: 2A sin(πt/P), and 2A from half a period on.
        double swing = 2 * periodic * Math.Sin(Math.Min(Math.PI * t / period, Math.PI / 2));

        List<BlurSource> all =
        [
            rateMeasured
                ? Steady("rate", "rate left after calibration", sky * _in.RateUncertaintyPpm.Value * 1e-6,
                    $"±{_in.RateUncertaintyPpm.Value:0} ppm, {_in.RateUncertaintyPpm.Source}",
                    "calibrate with more frames")
                : Steady("geometry", "hinge geometry not measured", sky * armFraction,
                    $"±{_in.ArmUncertaintyMm.Value:0.##} mm of {ArmMm():0.#} mm, {_in.ArmUncertaintyMm.Source}",
                    "calibrate with star frames"),
            .. OpenLoop(),
            new("periodic", "periodic error of nut and gear", swing, double.NaN,
                $"±{_in.PeriodicArcsec.Value:0.#}\" each {period:0.#} s, {_in.PeriodicArcsec.Source}",
                "calibrate; grease and preload the nut", true),
            Steady("clock", "controller's clock", sky * _in.ClockPpm.Value * 1e-6,
                $"±{_in.ClockPpm.Value:0.#} ppm, {_in.ClockPpm.Source}", "set clock.trim_ppm"),
            Steady("sag", "supply sag", sky * _in.SagPercent.Value / 100,
                $"{_in.SagPercent.Value:0.##} %, {_in.SagPercent.Source}", "fit an encoder, or compensate"),
            Steady("axis", "axis off the pole, worst corner", _corners.AxisArcsecPerSec(_in.AxisErrorArcmin.Value),
                $"{_in.AxisErrorArcmin.Value:0.#}' the worst way, {_in.AxisErrorArcmin.Source}",
                "align the axis better"),
            Steady("axis-drift", "– drift of the centre", drift, "part of the line above", "align the axis better")
                with { PartOf = "axis" },
            Steady("field-rotation", "– rotation at the corner", rotation,
                $"part of it; corner at {_in.CornerArcsec / 3600:0.##}°", "align the axis better")
                with { PartOf = "axis" },
            Steady("refraction-frame", "changing refraction, worst corner", _corners.RefractionArcsecPerSec(followed),
                $"altitude {AltitudeDeg:0}°, rate {_in.Rig.Rate.Follow}, axis on the refracted pole",
                _in.Rig.Rate.Follow == "refracted-stars" ? "shoot higher"
                    : "rate.follow = \"refracted-stars\"; shoot higher"),
            Steady("refraction", "– at the centre", refractionRate, "part of the line above",
                "rate.follow = \"refracted-stars\"; shoot higher") with { PartOf = "refraction-frame" },
            Steady("refraction-corner", "– across the frame", _corners.AcrossArcsecPerSec(),
                "part of it; corner against centre", "shoot higher") with { PartOf = "refraction-frame" },
            // General precession in longitude, 50.29 arcsec a year (IAU 2006): all of it, in the worst direction.
            Steady("precession", "precession of the pole", 50.29 / 31557600, "50.29\" a year, the worst way",
                NoRemedy),
            new("step", $"one {_in.Rig.Motor.CountName}", step, double.NaN,
                $"{_in.Drive.Design.CountsPerNutTurn.Ratio:0} {_in.Rig.Motor.CountNames} a nut turn",
                $"more {_in.Rig.Motor.CountNames} or a larger gear", false),
            new("pixel", "one pixel, for scale", _in.ArcsecPerPixel, double.NaN,
                $"{_in.Camera.PixelUm:0.##} µm at {_in.FocalMm:0.#} mm", "-", false),
            // Full width at half maximum of the Airy pattern, 1.03 λ/D (Born and Wolf, Principles of Optics, 8.5), λ =
            // 550 nm.
            new("diffraction", "diffraction, for scale", 1.03 * 550e-6 / (_in.FocalMm / _in.FocalRatio)
                * AngleUnits.ArcsecPerRad, double.NaN, $"f/{_in.FocalRatio:0.#} at 550 nm", "-", false),
            new("seeing", "seeing, for scale", _in.SeeingArcsec.Value, double.NaN, _in.SeeingArcsec.Source, "-", false),
        ];
        // Parts stand below the source that contains them.
        return [.. all.OrderByDescending(s => s.GrowsWithTime)
            .ThenByDescending(s => all.First(w => w.Key == (s.PartOf ?? s.Key)).Arcsec)
            .ThenBy(s => s.PartOf != null).ThenByDescending(s => s.Arcsec)];

        // Without an encoder the speed table is right for the load at which it was measured, and for no other.
        BlurSource[] OpenLoop()
        {
            if (_in.Rig.Motor.Dc is not { HasEncoder: false } dc)
            {
                return [];
            }

            double percent = Rig.SpeedTable.At(dc, _in.Drive.Design.NutTurnsPerMinuteAt(0)).RateSwingPercent;
            return
            [
                Steady("open-loop", "speed without an encoder", sky * percent / 100,
                    $"{percent:0.##} %, assumed: load ±{Rig.SpeedTable.UsualLoadSwingPercent:0} %, through the dead "
                    + "band of motor.speed_curve", "fit an encoder; grease the rod"),
            ];
        }

        BlurSource Steady(string key, string name, double arcsecPerSec, string basis, string remedy) =>
            new(key, name, arcsecPerSec * t, arcsecPerSec, basis, remedy, true);
    }

    private double ArmMm() => Arm(_in.Rig.Hinge);

    private static double Arm(HingeGeometry hinge) => hinge switch
    {
        SwivelledRodHinge s => Math.Min(s.NutArmMm, s.AnchorArmMm),
        FixedRodHinge f => f.RadiusMm,
        DoubleArmHinge d => Math.Min(d.ContactArmMm, Arm(d.Drive)),
        _ => throw new ArgumentException("this hinge form has no budget", nameof(hinge)),
    };

    // Only the size of the axis error is known; for each effect the direction that is worst for this target is used.
    private PolarMisalignment WorstAxis(Func<ExposureBlur, double> effect)
    {
        Angle size = Angle.FromArcminutes(_in.AxisErrorArcmin.Value);
        PolarMisalignment worst = default;
        double max = -1;
        for (int deg = 0; deg < 180; deg += 5)
        {
            (double sin, double cos) = Math.SinCos(deg * Math.PI / 180);
            var axis = new PolarMisalignment(size * cos, size * sin, _latitude);
            ExposureBlur blur = axis.BlurOver(_place, 60, Angle.FromArcseconds(_in.CornerArcsec));
            (worst, max) = effect(blur) > max ? (axis, effect(blur)) : (worst, max);
        }

        return worst;
    }
}
