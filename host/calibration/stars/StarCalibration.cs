// From aligned star frames to the drive's rate, its periodic error and the axis: fits each field, adds the uncertainty
// of pointing, air and scale, and joins the fields. Not here: reading (StarSession), the rig file's numbers
// (StarCorrections).

using Hourhinge.Calibration.Orientation;
using Hourhinge.Frames.Matching;
using Hourhinge.Numerics;
using Hourhinge.SharedMath.Geometry;
using Hourhinge.Sky.Observing;
using Hourhinge.Sky.Places;

namespace Hourhinge.Calibration.Stars;

/// <summary>One field: its frames with the drive on, and where it stands.</summary>
/// <param name="Run">The frames laid over one another.</param>
/// <param name="Sky">Direction and scale of the sky on the sensor: a camera turned to another field has another
/// direction.</param>
/// <param name="Declination">Of the frame's middle, of date.</param>
/// <param name="HourAngle">Of the frame's middle at the first frame's mid-exposure, west positive.</param>
public sealed record CalibrationField(RunAlignment Run, StoppedResult Sky, Angle Declination, Angle HourAngle)
{
    /// <summary>Standard errors of the place where the field was recognised; null where the user told it. A recognised
    /// place is where the camera points over the ground, refraction taken out.</summary>
    public RecognisedPlace? Recognised { get; init; }

    // Cameras' clocks are set by hand: a minute.
    private static readonly Angle _clockSigma = Angle.FromDegrees(0.25);

    /// <summary>A recognised field.</summary>
    /// <param name="recognised">Its frames.</param>
    /// <param name="sky">Direction and scale.</param>
    /// <param name="run">The same frames, aligned.</param>
    public static CalibrationField Of(RecognisedRun recognised, StoppedResult sky, RunAlignment run)
    {
        HourAngleDeclination centre = recognised.Reference.Centre;
        TimeSpan since = recognised.Reference.Frame.Info.MidUtc!.Value - run.Frames[0].Info.MidUtc!.Value;
        Angle hourAngle = centre.HourAngle - new Angle(Horizon.RotationRadPerSecond * since.TotalSeconds);
        return new CalibrationField(run, sky, centre.Declination, hourAngle)
        {
            Recognised = new RecognisedPlace(recognised.Reference.CentreSigma, _clockSigma),
        };
    }
}

/// <summary>How well a recognised field's place is known.</summary>
/// <param name="DeclinationSigma">Standard error of the declination.</param>
/// <param name="HourAngleSigma">Standard error of the hour angle: mostly the camera's clock.</param>
public sealed record RecognisedPlace(Angle DeclinationSigma, Angle HourAngleSigma);

/// <summary>What is known beside the frames.</summary>
/// <param name="Latitude">Of the site.</param>
/// <param name="Air">At the site; <see cref="Air.None"/> leaves refraction in.</param>
/// <param name="ExposureSec">Exposure, with the standard error that it is known with.</param>
/// <param name="NutTurnSec">Time of one nut turn: the period of the thread's error.</param>
/// <param name="PointingSigma">Standard error of each field's declination and (on the sky) hour angle as given.</param>
public sealed record StarConditions(Angle Latitude, Air Air, Estimate ExposureSec, double NutTurnSec,
    Angle PointingSigma);

/// <summary>What the stars say of a drive.</summary>
/// <param name="Skies">Direction and scale on the sensor of each field.</param>
/// <param name="Fields">The fit of each field, the first one first.</param>
/// <param name="Axis">Axis error from all fields together.</param>
/// <param name="ExposureSec">Exposure.</param>
/// <param name="SpanSec">From the first to the last frame of the first field.</param>
public sealed record StarResult(
    IReadOnlyList<StoppedResult> Skies, IReadOnlyList<DriftResult> Fields, AxisError Axis, double ExposureSec,
        double SpanSec)
{
    /// <summary>The first field's sky on the sensor.</summary>
    public StoppedResult Sky => Skies[0];

    /// <summary>The first field's drift: the drive's constants come from it.</summary>
    public DriftResult Drive => Fields[0];

    /// <summary>Reasons not to use the result; empty when there are none.</summary>
    public IReadOnlyList<string> Reasons =>
        [.. Skies.SelectMany(s => s.Assessment.Reasons).Concat(Fields.SelectMany(f => f.Assessment.Reasons))
            .Concat(FieldsDisagree()).Distinct()];

    // Chi-squared of two degrees of freedom for each field after the first, at one in a thousand.
    private IEnumerable<string> FieldsDisagree()
    {
        if (Fields.Count > 1
            && Axis.DisagreementSquared > MathNet.Numerics.Distributions.ChiSquared.InvCDF((2 * Fields.Count) - 2,
                0.999))
        {
            yield return "the fields contradict one another: no single axis explains both. The camera bends or slips "
                + "on "
                + "its holder, the axis was moved in between, or a field is not where it was said to be.";
        }
    }
}

/// <summary>Fits fields and adds the uncertainty of what the fit takes as known.</summary>
public static class StarCalibration
{
    // Air of standard pressure at the site's height and of 10 degrees: relative uncertainty of its density.
    private const double AirSigma = 0.04;

    /// <summary>Fits all fields; the first one carries the drive's constants.</summary>
    /// <param name="fields">One field or more.</param>
    /// <param name="setting">What is known beside the frames.</param>
    /// <returns>Null where a field cannot be fitted.</returns>
    public static StarResult? Solve(IReadOnlyList<CalibrationField> fields, StarConditions setting)
    {
        fields = [.. fields.Select(f => WithoutRefraction(f, setting))];
        var fits = new List<DriftResult>();
        var axes = new List<FieldAxis>();
        foreach (CalibrationField field in fields)
        {
            if (WithInputUncertainty(field, setting) is not { } fit)
            {
                return null;
            }

            fits.Add(fit.Drift);
            axes.Add(fit.Axis);
        }

        IReadOnlyList<AlignedFrame> first = fields[0].Run.Frames;
        double span = (first[^1].Info.MidUtc!.Value - first[0].Info.MidUtc!.Value).TotalSeconds;
        return new StarResult([.. fields.Select(f => WithDeclinationError(f, setting))], fits,
            AxisError.Of(axes, setting.Latitude.Radians, PoleLift(setting).Arcminutes), setting.ExposureSec.Value,
            span);
    }

    // How much higher than it is the pole is seen.
    private static Angle PoleLift(StarConditions setting) => setting.Air.PressureHpa > 0
        ? Refraction.FromTrue(new Angle(Math.Abs(setting.Latitude.Radians)), setting.Air)
        : default;

    // A refracted star trails a little shorter than the sky turns, and a little askew: 0.07 % and 0.02 degrees at an
    // altitude of 40 degrees. The camera stood where the first tracked frame finds it.
    private static CalibrationField WithoutRefraction(CalibrationField field, StarConditions setting)
    {
        if (field.Recognised is not null)
        {
            return field;
        }

        RefractedMotion seen = RefractionDrift.At(new HourAngleDeclination(field.HourAngle, field.Declination),
            setting.Latitude, setting.Air, AxisAim.TruePole);
        double west = seen.RateRatio * field.Declination.Cos();
        double north = seen.DeclinationArcsecPerMinute / 60 / ApparentDrift.ArcsecPerSec;
        double shorter = Math.Sqrt((west * west) + (north * north)) / field.Declination.Cos();
        // On the sensor a way that leads north of west is turned from +y towards +x, or the other way in a mirror.
        double askew = Math.Atan2(north, west) * (field.Sky.Sky.Mirrored ? -1 : 1);
        Estimate focal = field.Sky.FocalLengthPx.Times(1 / shorter);
        Estimate direction = field.Sky.WestAngleRad with { Value = field.Sky.WestAngleRad.Value + askew };
        SkyOnSensor sky = field.Sky.Sky with { FocalLengthPx = focal.Value, WestAngleRad = direction.Value };
        return field with { Sky = field.Sky with { Sky = sky, FocalLengthPx = focal, WestAngleRad = direction } };
    }

    // The trails' length over the cosine of the declination is the scale: an error of the one is an error of the other.
    private static StoppedResult WithDeclinationError(CalibrationField field, StarConditions setting)
    {
        double off = field.Sky.FocalLengthPx.Value * field.Declination.Tan() * setting.PointingSigma.Radians;
        return field.Recognised is not null
            ? field.Sky
            : field.Sky with { FocalLengthPx = WithAddedUncertainty(field.Sky.FocalLengthPx, [off]) };
    }

    // What the fit takes as given is known with an error too: where the field is, how dense the air, and how the sky
    // lies on the sensor. What a change of each by its standard error makes of the result is added in squares.
    private static (DriftResult Drift, FieldAxis Axis)? WithInputUncertainty(CalibrationField field,
        StarConditions setting)
    {
        Angle along = field.Recognised?.HourAngleSigma ?? (setting.PointingSigma / field.Declination.Cos());
        SkyOnSensor sky = field.Sky.Sky;
        // The scale came from trails at the declination told; at another one it is another scale.
        Angle higher = field.Declination + (field.Recognised?.DeclinationSigma ?? setting.PointingSigma);
        SkyOnSensor rescaled = field.Recognised is not null
            ? sky
            : sky with { FocalLengthPx = sky.FocalLengthPx * field.Declination.Cos() / higher.Cos() };
        double exposure = setting.ExposureSec.Value + setting.ExposureSec.Sigma;
        CalibrationField Seen(SkyOnSensor other) => field with { Sky = field.Sky with { Sky = other } };
        if (Fit(field, setting) is not { } fit
            || Fit(field with { HourAngle = field.HourAngle + along }, setting) is not { } west
            || Fit(Seen(rescaled) with { Declination = higher }, setting) is not { } north
            || Fit(Seen(sky with { FocalLengthPx = sky.FocalLengthPx + field.Sky.FocalLengthPx.Sigma }),
                setting) is not { } longer
            || Fit(field, setting with
            { Air = setting.Air with { PressureHpa = setting.Air.PressureHpa * (1 + AirSigma) } }) is not { } denser
            || Fit(Seen(sky with { WestAngleRad = sky.WestAngleRad + field.Sky.WestAngleRad.Sigma }),
                setting) is not { } turned
            || Fit(field, setting with { ExposureSec = setting.ExposureSec with { Value = exposure } })
                is not { } exposed)
        {
            return null;
        }

        // Each field states the axis relative to its own hour angle; convert all to the first field's.
        double c = along.Cos(), s = along.Sin();
        double toward = west.AxisTowardFieldArcmin.Value, east = west.AxisEastOfFieldArcmin.Value;
        west = west with
        {
            AxisTowardFieldArcmin = west.AxisTowardFieldArcmin with { Value = (c * toward) + (s * east) },
            AxisEastOfFieldArcmin = west.AxisEastOfFieldArcmin with { Value = (c * east) - (s * toward) },
        };
        // The camera's clock errs alike in all recognised fields; what the user told of a place is that field's own.
        DriftResult[] shared = [denser, exposed, .. field.Recognised is not null ? [west] : new[] { fit }];
        DriftResult[] own = [north, longer, turned, .. field.Recognised is not null ? [] : new[] { west }];
        DriftResult[] others = [.. shared, .. own];
        double[] Shifts(Func<DriftResult, Estimate> part) => [.. others.Select(o => part(o).Value - part(fit).Value)];
        Estimate Wider(Func<DriftResult, Estimate> part) => WithAddedUncertainty(part(fit), Shifts(part));
        Estimate t = Wider(r => r.AxisTowardFieldArcmin), e = Wider(r => r.AxisEastOfFieldArcmin);
        double mixed = (fit.AxisCorrelation * fit.AxisTowardFieldArcmin.Sigma * fit.AxisEastOfFieldArcmin.Sigma)
            + Shifts(r => r.AxisTowardFieldArcmin).Zip(Shifts(r => r.AxisEastOfFieldArcmin), (x, y) => x * y).Sum();
        AxisShift[] AxisShifts(DriftResult[] of) => [.. of.Select(r => new AxisShift(
            r.AxisTowardFieldArcmin.Value - fit.AxisTowardFieldArcmin.Value,
            r.AxisEastOfFieldArcmin.Value - fit.AxisEastOfFieldArcmin.Value))];
        var axis = new FieldAxis(fit.AxisTowardFieldArcmin, fit.AxisEastOfFieldArcmin, fit.AxisCorrelation,
            field.HourAngle.Radians + (Horizon.RotationRadPerSecond * fit.MidTimeSeconds))
        {
            OwnShifts = AxisShifts(own),
            SharedShifts = AxisShifts(shared),
        };
        return (fit with
        {
            RatePercent = Wider(r => r.RatePercent),
            EffectiveRatePercent = Wider(r => r.EffectiveRatePercent),
            RateChangePercentPerHour = Wider(r => r.RateChangePercentPerHour),
            RateCurvaturePercentPerHour2 = Wider(r => r.RateCurvaturePercentPerHour2),
            AxisTowardFieldArcmin = t,
            AxisEastOfFieldArcmin = e,
            AxisCorrelation = mixed / (t.Sigma * e.Sigma),
            Periodic = fit.Periodic is { } p
            ? p with { AmplitudeArcsec = Wider(r => r.Periodic?.AmplitudeArcsec ?? p.AmplitudeArcsec) } : null,
        }, axis);
    }

    private static Estimate WithAddedUncertainty(Estimate e, double[] shifts)
    {
        // An infinite uncertainty, from too few frames, stays infinite.
        if (!double.IsFinite(e.Sigma))
        {
            return e;
        }

        double sigma = Math.Sqrt((e.Sigma * e.Sigma) + shifts.Sum(d => d * d));
        return e with { Sigma = sigma, Half95 = e.Sigma > 0 ? e.Half95 * sigma / e.Sigma : 1.96 * sigma };
    }

    private static DriftResult? Fit(CalibrationField field, StarConditions setting) => DriftFit.Solve(
        DriftSample.Of(field.Run),
        new DriftOptions(
            field.Sky.Sky,
            new FieldPlace(
                field.Declination.Radians, field.HourAngle.Radians, setting.Latitude.Radians, setting.Air,
                field.Run.WidthPx, field.Run.HeightPx),
            setting.ExposureSec.Value,
            setting.NutTurnSec,
            ReferenceSeconds: field.Run.ReferenceSeconds,
            SpotVariancePx2: field.Run.SpotVariancePx2));
}
