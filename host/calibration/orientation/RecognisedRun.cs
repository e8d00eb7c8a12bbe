// A run of which some frames were recognised: the camera's attitude in between, so that the stars of every frame are
// looked for where the sky has them, and landscape, hot pixels and blocks are not.
using Hourhinge.Frames.Matching;
using Hourhinge.Numerics;
using Hourhinge.Recognition;
using Hourhinge.Rig;
using Hourhinge.Sky.Observing;
using MathNet.Numerics.Distributions;

namespace Hourhinge.Calibration.Orientation;

/// <summary>Recognised frames of one run.</summary>
public sealed class RecognisedRun
{
    // Sources that stay in their places on the sensor by less while the sky moves by more are no stars.
    private const double MovedPx = 6;

    // Two or three frames of one lens scatter by more than this many standard errors once in a hundred runs.
    private const double MaxScatter = 2.2;

    private readonly SiteData _site;
    private readonly Air _air;
    private readonly RunFrame[] _frames;
    private readonly List<RecognisedFrame> _anchors = [];

    private RecognisedRun(RunFrame[] frames, RecognisedFrame reference, SiteData site, Air air)
    {
        (_frames, Reference, _site, _air) = (frames, reference, site, air);
        _anchors.Add(reference);
        foreach (RunFrame frame in Ends())
        {
            if (RecognisedFrame.Of(frame, site, air, null, reference) is { } end)
            {
                _anchors.Add(end);
            }
        }

        _anchors.Sort((a, b) => Nullable.Compare(a.Frame.Info.MidUtc, b.Frame.Info.MidUtc));
    }

    /// <summary>The frame whose lens and place are used.</summary>
    public RecognisedFrame Reference { get; }

    /// <summary>Recognises a run; null where neither its middle nor its ends are recognised.</summary>
    /// <param name="frames">In any order.</param>
    /// <param name="site">Where they were taken.</param>
    /// <param name="air">At the site.</param>
    /// <param name="lens">What the lens may be.</param>
    public static RecognisedRun? Of(IReadOnlyList<RunFrame> frames, SiteData site, Air air, LensHint? lens)
    {
        RunFrame[] timed = [.. frames.Where(f => f.Info.MidUtc is not null && !f.Field.TooMuch)
            .OrderBy(f => f.Info.MidUtc)];
        if (timed.Length == 0)
        {
            return null;
        }

        // The frame with the most stars of the middle third, then the run's ends.
        int third = timed.Length / 3;
        RunFrame[] tried = [timed[third..(timed.Length - third)].MaxBy(f => f.Field.Stars.Count)!, timed[0]];
        foreach (RunFrame frame in tried.Distinct())
        {
            if (RecognisedFrame.Of(frame, site, air, lens) is { } reference)
            {
                return new RecognisedRun(timed, reference, site, air);
            }
        }

        return null;
    }

    /// <summary>The reference frame's focal length; where the recognised frames scatter by more than their fits expect,
    /// with the error that the scatter shows (focus, haze and landscape move it by more than the fit's
    /// error).</summary>
    public Estimate FocalLengthPx
    {
        get
        {
            double[] found = [.. _anchors.Select(a => a.Field.Projection.FocalLengthPx)];
            Estimate fit = Reference.OnSensor().FocalLengthPx;
            if (found.Length < 2)
            {
                return fit;
            }

            double mean = found.Average();
            double scatter = Math.Sqrt(found.Sum(f => (f - mean) * (f - mean)) / (found.Length - 1));
            return scatter <= MaxScatter * fit.Sigma
                ? fit
                : fit with { Sigma = scatter, Half95 = scatter * StudentT.InvCDF(0, 1, found.Length - 1, 0.975) };
        }
    }

    /// <summary>Direction and scale of the reference frame, the scale with the error above.</summary>
    public StoppedResult OnSensor() => Reference.OnSensor() with { FocalLengthPx = FocalLengthPx };

    private IEnumerable<RunFrame> Ends() =>
        new[] { _frames[0], _frames[^1] }.Distinct().Where(f => !ReferenceEquals(f, Reference.Frame));

    /// <summary>The camera's turn over the ground: from the run's ends, and from all frames where these say that it
    /// stands still. Null where only one frame was recognised.</summary>
    public StandingCamera? Standing()
    {
        StandingCamera? ends = StandingCamera.Of(_anchors);
        if (ends is not { IsStopped: true } || _frames.Length <= _anchors.Count)
        {
            return ends;
        }

        var others = _frames.Where(f => !_anchors.Exists(a => ReferenceEquals(a.Frame, f))).ToList();
        _anchors.AddRange(others.Select(f => RecognisedFrame.Of(f, _site, _air, null, Reference))
            .OfType<RecognisedFrame>());
        return StandingCamera.Of(_anchors);
    }

    /// <summary>The frames as a lens without distortion would show them, without what stands still on the sensor while
    /// the sky moves.</summary>
    public IReadOnlyList<RunFrame> SkyOnly() => [.. _frames.Select(f =>
    {
        RecognisedFrame? other = _anchors.Where(a => !ReferenceEquals(a.Frame, f))
            .MaxBy(a => Shift(Expected(f, a.Frame)));
        RunFrame sky = other is not null && Shift(Expected(f, other.Frame)) > MovedPx
            ? f with { Field = StoppedMotion.WithoutStanding(f.Field, other.Frame.Field) }
            : f;
        return Reference.Undistorted(sky);
    })];

    private static double Shift(FieldMotion? m) =>
        m is null ? 0 : Math.Sqrt((m.ShiftXPx * m.ShiftXPx) + (m.ShiftYPx * m.ShiftYPx));

    /// <summary>The motion of the field between two frames of the run, by the attitudes of the recognised
    /// frames.</summary>
    public FieldMotion? Expected(RunFrame from, RunFrame to) => _anchors.Count < 2
        ? null
        : At(from).MotionTo(At(to));

    // The attitude between two recognised frames: the drive turns evenly but for its periodic error.
    private RecognisedFrame At(RunFrame frame)
    {
        DateTime t = frame.Info.MidUtc!.Value;
        int i = 1;
        while (i < _anchors.Count - 1 && t > _anchors[i].Frame.Info.MidUtc)
        {
            i++;
        }

        FieldProjection a = _anchors[i - 1].Field.Projection, b = _anchors[i].Field.Projection;
        DateTime from = _anchors[i - 1].Frame.Info.MidUtc!.Value, until = _anchors[i].Frame.Info.MidUtc!.Value;
        double share = (t - from).TotalSeconds / Math.Max((until - from).TotalSeconds, 1e-3);
        Vector3 turn = StandingCamera.Vector(b.ToCamera.After(a.ToCamera.Inverse()));
        FieldProjection here = Reference.Field.Projection with
        {
            ToCamera = Rotation.By(turn * share).After(a.ToCamera),
        };
        return Reference with { Frame = frame, Field = Reference.Field with { Projection = here } };
    }
}
