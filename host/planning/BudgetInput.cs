using Hourhinge.Rig;
using Hourhinge.SharedMath.Geometry;

namespace Hourhinge.Planning;

/// <summary>A number and where it comes from: measured, from the rig file, given, or assumed.</summary>
public sealed record SourcedValue(double Value, string Source);

/// <summary>Everything that the blur of an exposure depends on. Build it with <see cref="From"/>.</summary>
public sealed record BudgetInput
{
    /// <summary>The rig.</summary>
    public required RigDescription Rig { get; init; }

    /// <summary>Its compiled drive.</summary>
    public required CompiledDrive Drive { get; init; }

    /// <summary>Focal length, mm.</summary>
    public required double FocalMm { get; init; }

    /// <summary>Focal ratio of the lens, 0.9 to 64.</summary>
    public required double FocalRatio { get; init; }

    /// <summary>The sensor.</summary>
    public required CameraData Camera { get; init; }

    /// <summary>Exposure, s.</summary>
    public required double ExposureSec { get; init; }

    /// <summary>Target's declination, degrees.</summary>
    public required double DeclinationDeg { get; init; }

    /// <summary>Target's hour angle at mid-exposure, hours, west positive.</summary>
    public required double HourAngleHours { get; init; }

    /// <summary>The site.</summary>
    public required SiteData Site { get; init; }

    /// <summary>Distance of the hinge axis from the pole, arcmin.</summary>
    public required SourcedValue AxisErrorArcmin { get; init; }

    /// <summary>Uncertainty of the hinge's arms, mm.</summary>
    public required SourcedValue ArmUncertaintyMm { get; init; }

    /// <summary>Remaining rate error after calibration, ppm; replaces the arms' uncertainty where it was
    /// measured.</summary>
    public required SourcedValue RateUncertaintyPpm { get; init; }

    /// <summary>Periodic error that the profile does not take out, amplitude in arcsec.</summary>
    public required SourcedValue PeriodicArcsec { get; init; }

    /// <summary>Remaining clock error after trim, ppm.</summary>
    public required SourcedValue ClockPpm { get; init; }

    /// <summary>Speed lost to a sagging supply over the exposure, percent; 0 for a stepper or an encoder.</summary>
    public required SourcedValue SagPercent { get; init; }

    /// <summary>Seeing, full width at half maximum, arcsec.</summary>
    public required SourcedValue SeeingArcsec { get; init; }

    /// <summary>Arcseconds on one pixel.</summary>
    public double ArcsecPerPixel => Camera.PixelUm / 1000 / FocalMm * AngleUnits.ArcsecPerRad;

    /// <summary>From the centre of the frame to its corner, arcsec.</summary>
    public double CornerArcsec =>
        Math.Sqrt(Math.Pow(Camera.WidthPx / 2.0, 2) + Math.Pow(Camera.HeightPx / 2.0, 2)) * ArcsecPerPixel;

    /// <summary>
    /// Uses the values of the rig file and fills the rest with assumptions, marked as such. Assumptions are
    /// common practice, no source: a ruler is good to 0.5 mm, an axis aimed by eye to 30', a bought rod's periodic
    /// error 10 arcsec, a crystal 20 ppm, suburban seeing 3 arcsec.
    /// </summary>
    public static BudgetInput From(
        RigDescription rig,
        CompiledDrive drive,
        CameraData camera,
        SiteData site,
        double focalMm,
        double focalRatio,
        double exposureSec,
        double declinationDeg,
        double hourAngleHours) => new()
        {
            Rig = rig,
            Drive = drive,
            Camera = camera,
            Site = site,
            FocalMm = focalMm,
            FocalRatio = focalRatio,
            ExposureSec = exposureSec,
            DeclinationDeg = declinationDeg,
            HourAngleHours = hourAngleHours,
            AxisErrorArcmin = Measured(rig.Calibration?.AxisErrorArcmin, rig, 30, "assumed: aimed by eye"),
            ArmUncertaintyMm = Measured(rig.Calibration?.ArmUncertaintyMm, rig, 0.5, "assumed: a ruler"),
            RateUncertaintyPpm = Measured(rig.Calibration?.RateUncertaintyPpm, rig, double.NaN, "not measured"),
            PeriodicArcsec = rig.Periodic.Count > 0
                ? new SourcedValue(1, "assumed: a tenth of it is left after correction")
                : new SourcedValue(10, "assumed: not measured"),
            ClockPpm = rig.ClockTrimPpm != 0
            ? new SourcedValue(2, "trimmed; assumed temperature drift")
            : new SourcedValue(20, "assumed: untrimmed crystal"),
            SagPercent = rig.Motor.Dc switch
            {
                null => new SourcedValue(0, "a stepper keeps time whatever the voltage"),
                { HasEncoder: true } => new SourcedValue(0, "the encoder corrects the speed"),
                _ => new SourcedValue(2, "assumed: no encoder, speed not measured while tracking"),
            },
            SeeingArcsec = new SourcedValue(3, "assumed"),
        };

    private static SourcedValue Measured(double? value, RigDescription rig, double otherwise, string assumption) =>
        value is { } v
        ? new SourcedValue(v, $"rig file: {rig.Calibration!.Method} {rig.Calibration.Date}".TrimEnd())
        : new SourcedValue(otherwise, assumption);
}
