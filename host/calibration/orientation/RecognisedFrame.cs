// A frame recognised on the sky, as the calibration uses it: where the camera stood over the ground, and how the sky
// lies on its sensor. Not here: the recognition itself (host/recognition).
using Hourhinge.Frames.Matching;
using Hourhinge.Frames.Stars;
using Hourhinge.Numerics;
using Hourhinge.Recognition;
using Hourhinge.Rig;
using Hourhinge.Sky.Bodies;
using Hourhinge.Sky.Observing;
using Hourhinge.Sky.Places;
using Hourhinge.Sky.Time;

namespace Hourhinge.Calibration.Orientation;

/// <summary>A recognised frame.</summary>
/// <param name="Frame">The frame as read.</param>
/// <param name="Field">The field.</param>
/// <param name="Sky">The sky at its mid-exposure.</param>
public sealed record RecognisedFrame(RunFrame Frame, RecognizedField Field, SeenSky Sky)
{
    // What a centroid of a real lens is off, beyond its noise: it moves a frame's centre as a whole (measured on
    // photographs: 0.5 px a star and 0.1 px a field).
    private const double FloorPx = 0.1;

    /// <summary>Recognises a frame: with the rig's lens as a hint, then without.</summary>
    /// <param name="frame">The frame; it must have a time.</param>
    /// <param name="site">Where it was taken.</param>
    /// <param name="air">At the site.</param>
    /// <param name="lens">What the lens may be; null where unknown.</param>
    /// <param name="near">A recognised frame of the same run, whose lens is a better hint; null for none.</param>
    /// <returns>Null where the frame has no time or no field is accepted.</returns>
    public static RecognisedFrame? Of(RunFrame frame, SiteData site, Air air, LensHint? lens,
        RecognisedFrame? near = null)
    {
        if (frame.Info.MidUtc is not { } mid)
        {
            return null;
        }

        var at = Instant.FromUtc(new DateTimeOffset(mid, TimeSpan.Zero));
        var sky = new SeenSky(at, Site.FromDegrees(site.LatitudeDeg, site.LongitudeDeg, site.HeightM), air);
        ImageStar[] stars = [.. StoppedMotion.WithMiddles(frame.Field).Stars
            .Where(s => s.Flux > 0).Select(s => new ImageStar(s.X, s.Y, s.Flux, s.CentroidSigmaPx))];
        RecognizedField? found = Hints(sky, lens, near)
            .Select(hint => FieldRecognizer.Recognize(stars, frame.Field.Width, frame.Field.Height, hint))
            .FirstOrDefault(f => f is not null);
        return found is null ? null : new RecognisedFrame(frame, found, sky);
    }

    private static IEnumerable<FieldHint> Hints(SeenSky sky, LensHint? lens, RecognisedFrame? near)
    {
        if (near is not null)
        {
            FieldProjection p = near.Field.Projection;
            yield return new FieldHint
            {
                FocalLengthPx = p.FocalLengthPx,
                FocalLengthTolerance = 0.01,
                Lens = p.Lens,
                Axis = p.Axis,
                Mirrored = p.Mirrored,
                SeenDirection = sky.Seen,
            };
            yield break;
        }

        foreach (double focal in lens?.FocalLengthsPx ?? [])
        {
            LensDistortion? measured = lens!.Measured is { } m ? new LensDistortion(m.K1, m.K2) : null;
            yield return new FieldHint { FocalLengthPx = focal, Lens = measured, SeenDirection = sky.Seen };
        }

        yield return new FieldHint { SeenDirection = sky.Seen };
    }

    /// <summary>Where the frame's middle was, about the true pole.</summary>
    public HourAngleDeclination Centre => Sky.Place(Field.Projection.ToCamera.Row3);

    /// <summary>Standard error of that on the sky: of the fit, of the lens, and 0.5 s of the Earth's clock.</summary>
    public Angle CentreSigma => new(Math.Sqrt(Math.Pow(Field.CentreSigma.Radians, 2)
        + Math.Pow(FloorPx / Field.Projection.FocalLengthPx, 2) + Math.Pow(0.5 * ApparentDrift.RadPerSec, 2)));

    /// <summary>Standard error of a turn about the pole between two such frames' stamps left out, rad.</summary>
    internal double TurnSigmaRad => Math.Sqrt(Field.Covariance[0, 0] + Field.Covariance[1, 1]
        + Math.Pow(FloorPx / Field.Projection.FocalLengthPx, 2)) / Math.Max(Centre.Declination.Cos(), 0.1);

    /// <summary>Turns axes fixed to the ground (<see cref="SeenSky.ToGround"/>) into the camera's.</summary>
    public Rotation FromGround => Field.Projection.ToCamera.After(Sky.ToGround.Inverse());

    /// <summary>How the sky lies on the sensor, with the errors of the fit.</summary>
    public StoppedResult OnSensor()
    {
        FieldProjection p = Field.Projection;
        Vector3 centre = Sky.ToGround.Apply(p.ToCamera.Row3);
        Vector3 west = Sky.ToGround.Inverse().Apply(Vector3.UnitZ.Cross(centre).Normalized() * -1);
        double x = west.Dot(p.ToCamera.Row1), y = west.Dot(p.ToCamera.Row2);
        double angle = Math.Atan2(y, p.Mirrored ? -x : x);
        // Beyond the fit's own error: pixel phases, the catalogue's rounding, air (RenderedCoverageTests).
        const double FocalFloor = 1.2e-5;
        double focalSigma = Math.Sqrt(Math.Pow(Field.FocalLengthSigmaPx, 2)
            + Math.Pow(FocalFloor * p.FocalLengthPx, 2));
        double turnSigma = Math.Max(Field.RollSigma.Radians, 2e-5);
        return new StoppedResult(new SkyOnSensor(angle, p.FocalLengthPx, p.Mirrored),
            new Estimate(p.FocalLengthPx, focalSigma, 1.96 * focalSigma),
            new Estimate(angle, turnSigma, 1.96 * turnSigma), true, Field.Matches.Count, 0,
            new CalibrationAssessment([]));
    }

    /// <summary>A frame of this lens with its places as a lens without distortion would show them, its axis at the
    /// frame's centre.</summary>
    public RunFrame Undistorted(RunFrame frame)
    {
        FieldProjection p = Field.Projection;
        double cx = (frame.Field.Width - 1) / 2.0, cy = (frame.Field.Height - 1) / 2.0;
        (double X, double Y)? Moved(double x, double y)
        {
            double u = (x - cx - p.Axis.X) / p.FocalLengthPx, v = (y - cy - p.Axis.Y) / p.FocalLengthPx;
            double drawn = Math.Sqrt((u * u) + (v * v)), r = p.Lens.Undistort(drawn);
            double scale = drawn > 0 ? r / drawn : 1;
            return double.IsNaN(r) ? null : (cx + (u * scale * p.FocalLengthPx), cy + (v * scale * p.FocalLengthPx));
        }

        IEnumerable<Star> stars = frame.Field.Stars.Select(s => Moved(s.X, s.Y) is { } m
            ? s with { X = m.X, Y = m.Y } : (Star?)null).OfType<Star>();
        IEnumerable<Streak> streaks = frame.Field.Streaks.Select(s => Moved(s.X1, s.Y1) is { } a
            && Moved(s.X2, s.Y2) is { } b ? s with { X1 = a.X, Y1 = a.Y, X2 = b.X, Y2 = b.Y } : (Streak?)null)
            .OfType<Streak>();
        return frame with { Field = frame.Field with { Stars = [.. stars], Streaks = [.. streaks] } };
    }

    /// <summary>The motion of the field's middle on an undistorted sensor, from this frame to another.</summary>
    public FieldMotion MotionTo(RecognisedFrame later)
    {
        double focal = Field.Projection.FocalLengthPx, flip = Field.Projection.Mirrored ? -1 : 1;
        Rotation turn = later.Field.Projection.ToCamera.After(Field.Projection.ToCamera.Inverse());
        const double Aside = 0.001;
        (double X, double Y) Drawn(Vector3 v) => (flip * focal * v.X / v.Z, focal * v.Y / v.Z);
        (double x, double y) = Drawn(turn.Apply(Vector3.UnitZ));
        (double ax, double ay) = Drawn(turn.Apply(new Vector3(Aside, 0, 1)));
        double rotation = Math.Atan2(flip * (ay - y), flip * (ax - x));
        return new FieldMotion(x, y, rotation, 1, 1, 1e-4, Field.Matches.Count, 1);
    }
}
